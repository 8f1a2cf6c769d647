// Package diag holds what the user must be told: a place, a severity, a stable
// code and a sentence; and the basis on which a value rests.
package diag

import (
	"fmt"
	"strings"
)

// Severity tells whether a note stops the work.
type Severity uint8

const (
	Warning Severity = iota // the work goes on
	Error                   // the work stops
)

func (s Severity) String() string { return [...]string{"warning", "error"}[s] }

// A Place is where in the user's input something was read; zero fields are unknown.
type Place struct {
	File   string
	Sheet  string // of a workbook
	Line   int    // line of a CSV file or row of a sheet, from 1
	Column string // the header's text, with the letter for a sheet
}

// String writes the place as "bench.csv, sheet readings, line 7, column volume_ml".
func (p Place) String() string {
	var parts []string
	if p.File != "" {
		parts = append(parts, p.File)
	}
	if p.Sheet != "" {
		parts = append(parts, "sheet "+p.Sheet)
	}
	if p.Line > 0 {
		parts = append(parts, fmt.Sprintf("line %d", p.Line))
	}
	if p.Column != "" {
		parts = append(parts, "column "+p.Column)
	}
	return strings.Join(parts, ", ")
}

// A Note is one thing to tell the user. Message is a sentence that says what was
// read, what was expected and what to do; Code is a stable word for programs.
type Note struct {
	Severity Severity
	Code     string
	Place    Place
	Message  string
}

// Error makes a Note usable as an error: place, colon, sentence.
func (n Note) Error() string {
	if at := n.Place.String(); at != "" {
		return at + ": " + n.Message
	}
	return n.Message
}

// Warn makes a warning without a place.
func Warn(code, format string, args ...any) Note {
	return Note{Severity: Warning, Code: code, Message: fmt.Sprintf(format, args...)}
}

// Fail makes an error with its place.
func Fail(at Place, code, format string, args ...any) Note {
	return Note{Severity: Error, Code: code, Place: at, Message: fmt.Sprintf(format, args...)}
}

// Basis says what a value rests on; a later one is weaker.
type Basis uint8

const (
	Measured     Basis = iota // readings were taken here
	Interpolated              // between readings
	Extrapolated              // beyond the readings, by the fitted physics
	Assumed                   // by a generic curve that the user asked for
)

func (b Basis) String() string {
	return [...]string{"measured", "interpolated", "extrapolated", "assumed"}[b]
}

// ParseBasis reads what String writes.
func ParseBasis(text string) (Basis, bool) {
	for b := Measured; b <= Assumed; b++ {
		if b.String() == text {
			return b, true
		}
	}
	return 0, false
}

// Status says whether a cell of a table can be used.
type Status uint8

const (
	OK          Status = iota
	Unreliable         // so near the lowest opening voltage that small changes matter
	DoesNotOpen        // no value: the injector does not open
	NotMeasured        // no value: nothing measured supports one
)

func (s Status) String() string {
	return [...]string{"ok", "unreliable", "does_not_open", "not_measured"}[s]
}

// ParseStatus reads what String writes.
func ParseStatus(text string) (Status, bool) {
	for s := OK; s <= NotMeasured; s++ {
		if s.String() == text {
			return s, true
		}
	}
	return 0, false
}

// HasValue tells whether a cell of this status holds a number.
func (s Status) HasValue() bool { return s == OK || s == Unreliable }
