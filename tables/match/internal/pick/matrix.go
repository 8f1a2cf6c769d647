// Package pick finds the rows of an integer matrix that lie closest together:
// the k of n rows whose worst column spans least, several disjoint groups of k,
// and the rows nearest to a group. It knows no injectors; rows are units,
// columns are conditions, and a coordinate is ln(delivered) in millionths, so
// that equal readings are exactly equal and the answer is the same on every
// machine.
//
// The distance of two rows is the largest difference in any column. The worst
// span of a group is the largest distance of two of its members, because the
// two extremes of the widest column are members. So the best group of k is the
// k-clique with the smallest longest edge, and every search here is a search
// for cliques in the graph of the pairs nearer than the best found so far.
package pick

import "fmt"

// MaxCoordinate bounds the coordinates, so that differences and sums fit 32 bits.
const MaxCoordinate = 500_000_000

// A Matrix holds n rows of d integer coordinates.
type Matrix struct {
	n, d int
	x    []int32 // row by row
}

// NewMatrix copies rows of equal length. It panics when the rows differ in
// length, are empty, or hold a coordinate beyond ±MaxCoordinate.
func NewMatrix(rows [][]int32) Matrix {
	if len(rows) == 0 || len(rows[0]) == 0 {
		panic("pick: a matrix needs a row and a column")
	}
	m := Matrix{n: len(rows), d: len(rows[0])}
	m.x = make([]int32, 0, m.n*m.d)
	for i, row := range rows {
		if len(row) != m.d {
			panic(fmt.Sprintf("pick: row %d has %d columns instead of %d", i, len(row), m.d))
		}
		for _, v := range row {
			if v > MaxCoordinate || v < -MaxCoordinate {
				panic(fmt.Sprintf("pick: coordinate %d of row %d is out of range", v, i))
			}
		}
		m.x = append(m.x, row...)
	}
	return m
}

// Rows is the number of rows.
func (m Matrix) Rows() int { return m.n }

// Cols is the number of columns.
func (m Matrix) Cols() int { return m.d }

func (m Matrix) row(i int32) []int32 { return m.x[int(i)*m.d:][:m.d] }

// Spans gives each column's largest minus smallest coordinate over the rows of set.
func (m Matrix) Spans(set []int) []int32 {
	b := newBox(m.d)
	for _, i := range set {
		b.add(m.row(int32(i)))
	}
	return b.spans()
}

// Worst is the largest of the Spans of set; 0 for fewer than two rows.
func (m Matrix) Worst(set []int) int32 { return maxOf(m.Spans(set)) }

// dist is the distance of rows a and b, or any value above limit if the
// distance is above limit.
func (m Matrix) dist(a, b, limit int32) int32 {
	ra, rb := m.row(a), m.row(b)
	rb = rb[:len(ra)]
	var far int32
	for j, v := range ra {
		gap := v - rb[j]
		if gap < 0 {
			gap = -gap
		}
		if gap > far {
			if gap > limit {
				return gap
			}
			far = gap
		}
	}
	return far
}

// A box is the smallest one that holds the rows added to it.
type box struct{ lo, hi []int32 }

func newBox(d int) box {
	b := box{make([]int32, d), make([]int32, d)}
	b.clear()
	return b
}

func (b box) clear() {
	for j := range b.lo {
		b.lo[j], b.hi[j] = 1<<31-1, -1<<31
	}
}

func (b box) add(row []int32) {
	for j, v := range row {
		b.lo[j], b.hi[j] = min(b.lo[j], v), max(b.hi[j], v)
	}
}

func (b box) copyFrom(a box) { copy(b.lo, a.lo); copy(b.hi, a.hi) }

func (b box) spans() []int32 {
	s := make([]int32, len(b.lo))
	for j := range s {
		if b.hi[j] >= b.lo[j] {
			s[j] = b.hi[j] - b.lo[j]
		}
	}
	return s
}

func maxOf(s []int32) int32 {
	var m int32
	for _, v := range s {
		m = max(m, v)
	}
	return m
}
