package export

import (
	"strconv"
	"strings"

	"injtab/tables"
)

// number writes x with exactly so many digits after the point, never "-0.00".
func number(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', max(decimals, 0), 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// halfWidth writes the half-width of an interval with one digit more than its
// value has; empty where there is none.
func halfWidth(cell tables.Cell, col tables.Column) string {
	if col.Text || !cell.Status.HasValue() || cell.CI95 <= 0 {
		return ""
	}
	return number(cell.CI95, col.Decimals+1)
}

// cellText is the plain text of a cell; empty where it has no value.
func cellText(t tables.Table, row, col int) string {
	cell, c := t.Cells[row][col], t.Cols[col]
	switch {
	case c.Text:
		return cell.Text
	case !cell.Status.HasValue():
		return ""
	}
	return number(cell.Value, c.Decimals)
}

// rowText is the plain text of the first column.
func rowText(t tables.Table, row int) string {
	if t.Row.Text {
		return t.RowText[row]
	}
	return number(t.RowAt[row], t.Row.Decimals)
}

// corner is the header of the first column.
func corner(t tables.Table) string {
	if t.Corner != "" {
		return t.Corner
	}
	return t.Row.Name
}
