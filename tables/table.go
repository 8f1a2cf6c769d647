// Package tables lays models out as tables: the few rows and columns that an ECU
// holds, what each cell rests on, and the proof of the finished tables against
// readings. It knows no file format.
package tables

import "injtab/fit/diag"

// A Cell is one value of a table with what it rests on.
type Cell struct {
	Value  float64 // in the unit of its column; meaningless unless Status has a value
	CI95   float64 // half-width of the 95 % interval; 0 where none applies
	Basis  diag.Basis
	Status diag.Status
	Text   string // instead of a value, in text columns
}

// A Column names and describes one column, or the rows' own values.
type Column struct {
	Name     string  // header in files: "flow_ml_min"; in a grid the breakpoint, "300"
	Title    string  // for people: "Static flow"
	Unit     string  // for people: "ml/min"; "" for texts and counts
	UCUM     string  // the unit's code in the Unified Code for Units of Measure
	Decimals int     // digits after the point, in files and on screen
	Text     bool    // cells are texts
	Mixed    bool    // each cell has a unit and digits of its own, Decimals at the most
	At       float64 // in a grid: the breakpoint, in the unit of the table's Across
	About    string  // one sentence that says what the numbers are
}

// A Table is a list (columns of different quantities) or a grid (one quantity
// over two axes). Its first column is Row, with RowAt or RowText as values.
type Table struct {
	Name    string // stem of the file: "dead_time"
	Title   string
	About   string // a sentence or two: what it is, how to use it
	Corner  string // header of the first column in files: "voltage_v" or `voltage_v\pressure_kpa`
	Row     Column
	RowAt   []float64 // numeric rows
	RowText []string  // text rows, where Row.Text
	Across  Column    // of a grid: the axis that runs over the columns; zero in a list
	Cols    []Column
	Cells   [][]Cell // [row][column]
	Notes   []diag.Note
	Aside   bool // not needed for the answer: left out of a short screen, folded on a page
}

// Grid tells whether the table is one quantity over two axes.
func (t Table) Grid() bool { return t.Across.Name != "" }

// Rows is the number of rows.
func (t Table) Rows() int { return len(t.Cells) }
