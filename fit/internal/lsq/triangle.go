package lsq

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// batch is how many rows a triangle collects before it takes them in: enough
// for long vectors, few enough to stay in the first-level cache.
const batch = 128

// triangle is the upper triangular factor of all rows given to it so far; the
// last column is the right-hand side, so its corner is the norm of what the
// other columns cannot explain. Only sums of squares of rows are kept, never
// the rows.
type triangle struct {
	n    int       // columns, right-hand side included
	r    []float64 // n × n, row-major, upper
	buf  []float64 // n columns of up to batch waiting rows
	rows int       // waiting
}

func newTriangle(n int) triangle {
	return triangle{n: n, r: make([]float64, n*n), buf: make([]float64, n*batch)}
}

func (t *triangle) reset() {
	clear(t.r)
	t.rows = 0
}

// row returns the n entries of row i.
func (t *triangle) row(i int) []float64 { return t.r[i*t.n : (i+1)*t.n] }

// push takes rows from..rows-1 of the column-major matrix a, which has n columns.
func (t *triangle) push(a []float64, stride, from, rows int) {
	for from < rows {
		take := min(rows-from, batch-t.rows)
		for c := range t.n {
			copy(t.buf[c*batch+t.rows:c*batch+t.rows+take], a[c*stride+from:])
		}
		from += take
		if t.rows += take; t.rows == batch {
			t.absorb()
		}
	}
}

// pushUnit takes one row that is zero but for v in column c and w in the last.
func (t *triangle) pushUnit(c int, v, w float64) {
	for k := range t.n {
		t.buf[k*batch+t.rows] = 0
	}
	t.buf[c*batch+t.rows] = v
	t.buf[(t.n-1)*batch+t.rows] = w
	if t.rows++; t.rows == batch {
		t.absorb()
	}
}

// absorb merges the waiting rows into the factor: column k of the factor has
// entries in rows 0..k only, so each reflection touches one row of the factor
// and the waiting rows.
func (t *triangle) absorb() {
	m := t.rows
	t.rows = 0
	if m == 0 {
		return
	}
	for k := range t.n {
		x := t.buf[k*batch : k*batch+m]
		top := t.row(k)
		tail := math.Sqrt(floats.Dot(x, x))
		if tail <= 0 {
			continue
		}
		beta := -math.Copysign(math.Hypot(top[k], tail), top[k])
		v0 := top[k] - beta
		tau := -1 / (beta * v0)
		top[k] = beta
		for j := k + 1; j < t.n; j++ {
			y := t.buf[j*batch : j*batch+m]
			s := tau * (v0*top[j] + floats.Dot(x, y))
			top[j] -= s * v0
			floats.AddScaled(y, -s, x)
		}
	}
}
