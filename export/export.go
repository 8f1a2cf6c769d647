// Package export shows tables and reports: as CSV with a data package, as a
// workbook, as text for a terminal, as Markdown, JSON, pictures and a page. It
// knows tables, not injectors.
//
// Every number is written once, by number, so that a table reads the same in all
// of them; every text of the user's passes through clean, so that none of them
// can be made to say or run something else. The same report gives the same bytes.
package export

// Tool and Version name the program in the files it writes.
const (
	Tool    = "injtab"
	Version = "0.1.0"
)
