package export

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// A cellGrid is the columns, rows and cells of one sheet in the making. The library makes all
// else of a sheet: with its own cells the workbook of an archive of 5000 injectors took
// 12.4 s instead of 1.3 s, and the program 1.6 GB instead of 0.6 GB.
type cellGrid struct {
	widths []float64 // of the first columns, in characters
	rows   []gridRow // the first is row 1
	wide   int       // the last column
	high   int       // the last row with a cell
	digits []string  // of cells with a number, which has no letter that XML would escape
	live   []content // of cells with a formula
	names  []string  // of the columns
}

type gridRow struct {
	cells  []gridCell // by column
	height float64    // 0: the usual
}

// A gridCell has a style, and a text that the workbook shares or a number or a formula of
// its own.
type gridCell struct{ column, style, shared, own int32 } // shared and own from 1, formulas from -1 down; 0: none

// A content is a formula with what it gives.
type content struct {
	value, formula string
	text           bool // the formula gives a text, or nothing that is known
}

// cell finds a cell, or makes it; the pointer holds until the next one is made.
func (g *cellGrid) cell(col, row int) *gridCell {
	g.wide, g.high = max(g.wide, col), max(g.high, row)
	cells := &g.row(row).cells
	at := len(*cells)
	for at > 0 && (*cells)[at-1].column >= int32(col) { // most come in order
		at--
	}
	if at == len(*cells) || (*cells)[at].column != int32(col) {
		*cells = slices.Insert(*cells, at, gridCell{column: int32(col)})
	}
	return &(*cells)[at]
}

func (g *cellGrid) row(row int) *gridRow {
	for len(g.rows) < row {
		g.rows = append(g.rows, gridRow{})
	}
	return &g.rows[row-1]
}

// reserve makes room for the cells of a table at once.
func (g *cellGrid) reserve(first, last, columns int) {
	room := make([]gridCell, (last-first+1)*columns)
	for r := first; r <= last; r++ {
		g.row(r).cells, room = room[:0:columns], room[columns:]
	}
}

// put gives a cell a number.
func (g *cellGrid) put(col, row, style int, digits string) {
	g.digits = append(g.digits, digits)
	cell := g.cell(col, row)
	cell.style, cell.own = int32(style), int32(len(g.digits))
}

// putFormula gives a cell a formula.
func (g *cellGrid) putFormula(col, row, style int, c content) {
	g.live = append(g.live, c)
	cell := g.cell(col, row)
	cell.style, cell.own = int32(style), -int32(len(g.live))
}

// columns are the widths as they stand in a sheet, neighbours of one width as one.
func (g *cellGrid) columns() []byte {
	if len(g.widths) == 0 {
		return nil
	}
	to := []byte("<cols>")
	for from := 0; from < len(g.widths); {
		next := from + 1
		for next < len(g.widths) && math.Abs(g.widths[next]-g.widths[from]) < 0.001 {
			next++
		}
		to = fmt.Appendf(to, `<col customWidth="true" max="%d" min="%d" width="%v"></col>`, next, from+1, g.widths[from])
		from = next
	}
	return append(to, "</cols>"...)
}

// write writes the rows as they stand in a sheet, and lets them go: an archive's 1.9 million take
// 30 MB.
func (g *cellGrid) write(w io.Writer) error {
	defer func() { g.rows, g.digits = nil, nil }()
	g.names = make([]string, g.wide)
	for i := range g.names {
		var err error
		if g.names[i], err = excelize.ColumnNumberToName(i + 1); err != nil {
			return err
		}
	}
	out := bufio.NewWriterSize(w, 1<<15)
	var line []byte
	for i, row := range g.rows {
		if len(row.cells) == 0 && row.height <= 0 {
			continue
		}
		line = g.appendRow(line[:0], strconv.Itoa(i+1), row)
		if _, err := out.Write(line); err != nil {
			return err
		}
	}
	return out.Flush()
}

func (g *cellGrid) appendRow(to []byte, number string, row gridRow) []byte {
	to = append(append(to, `<row r="`...), number...)
	if row.height > 0 {
		to = append(to, `" ht="`...)
		to = strconv.AppendFloat(to, row.height, 'g', -1, 64)
		to = append(to, `" customHeight="true`...)
	}
	to = append(to, `">`...)
	for _, c := range row.cells {
		to = g.appendCell(to, number, c)
	}
	return append(to, "</row>"...)
}

func (g *cellGrid) appendCell(to []byte, row string, c gridCell) []byte {
	to = append(to, `<c r="`...)
	to = append(append(to, g.names[c.column-1]...), row...)
	to = append(to, `" s="`...)
	to = strconv.AppendInt(to, int64(c.style), 10)
	switch {
	case c.shared > 0:
		to = append(to, `" t="s"><v>`...)
		to = strconv.AppendInt(to, int64(c.shared)-1, 10)
		to = append(to, "</v>"...)
	case c.own > 0:
		to = append(append(append(to, `"><v>`...), g.digits[c.own-1]...), "</v>"...)
	case c.own < 0:
		to = g.live[-c.own-1].append(to)
	default:
		to = append(to, `">`...)
	}
	return append(to, "</c>"...)
}

// append writes a formula behind the attributes of its cell.
func (c content) append(to []byte) []byte {
	if c.text {
		to = append(to, `" t="str`...)
	}
	to = append(inXML(append(to, `"><f>`...), c.formula), "</f>"...)
	if c.value != "" {
		to = append(inXML(append(to, "<v>"...), c.value), "</v>"...)
	}
	return to
}

func inXML(to []byte, s string) []byte {
	buf := appender(to)
	xml.EscapeText(&buf, []byte(s)) // an appender takes all
	return buf
}

// An appender writes at its own end.
type appender []byte

func (a *appender) Write(p []byte) (int, error) {
	*a = append(*a, p...)
	return len(p), nil
}
