package pick

import (
	"cmp"
	"slices"
)

// A field is a matrix laid out for searching: the column that tells rows apart
// best comes first, so that a distance is refused after few columns, and the
// rows are sorted by it, so that near rows stand near.
type field struct {
	Matrix
	id  []int32 // row of the caller's matrix
	pos []int32 // the reverse: where a caller's row stands
}

// newField lays out the rows of m that are named in use.
func newField(m Matrix, use []int32) *field {
	cols := byQuartileRange(m, use)
	f := &field{Matrix: Matrix{n: len(use), d: m.d}, id: slices.Clone(use), pos: make([]int32, m.n)}
	first := cols[0]
	slices.SortFunc(f.id, func(a, b int32) int {
		return cmp.Or(cmp.Compare(m.row(a)[first], m.row(b)[first]), cmp.Compare(a, b))
	})
	f.x = make([]int32, 0, f.n*f.d)
	for i := range f.pos {
		f.pos[i] = -1
	}
	for at, i := range f.id {
		f.pos[i] = int32(at)
		row := m.row(i)
		for _, j := range cols {
			f.x = append(f.x, row[j])
		}
	}
	return f
}

// byQuartileRange orders the columns by the distance between the quartiles of
// the rows in use, widest first.
func byQuartileRange(m Matrix, use []int32) []int {
	width := make([]int32, m.d)
	values := make([]int32, len(use))
	for j := range width {
		for at, i := range use {
			values[at] = m.row(i)[j]
		}
		slices.Sort(values)
		width[j] = values[len(values)*3/4] - values[len(values)/4]
	}
	cols := make([]int, m.d)
	for j := range cols {
		cols[j] = j
	}
	slices.SortStableFunc(cols, func(a, b int) int { return cmp.Compare(width[b], width[a]) })
	return cols
}

// first is the sorted coordinate of row i.
func (f *field) first(i int32) int32 { return f.x[int(i)*f.d] }

// callers turns places in the field into sorted rows of the caller.
func (f *field) callers(places []int32) []int {
	rows := make([]int, len(places))
	for k, at := range places {
		rows[k] = int(f.id[at])
	}
	slices.Sort(rows)
	return rows
}

// places turns rows of the caller into places in the field.
func (f *field) places(rows []int) []int32 {
	at := make([]int32, len(rows))
	for k, i := range rows {
		at[k] = f.pos[i]
	}
	return at
}

// worst is the worst span of the rows at these places.
func (f *field) worst(places []int32) int32 {
	b := newBox(f.d)
	for _, i := range places {
		b.add(f.row(i))
	}
	return maxOf(b.spans())
}
