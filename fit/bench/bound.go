package bench

import (
	"bytes"
	"fmt"
	"io"
)

const (
	// MaxBytes bounds a file, and what a workbook unfolds to, unless ReadUpTo is told
	// otherwise. A million readings have about 45 MB, and unfold
	// from a workbook to about 300 MB.
	MaxBytes = 512 << 20
	// SizeVariable is what users are told to set to read larger ones.
	SizeVariable = "INJTAB_MAX_MB"

	maxLine = 1 << 20 // bytes; thousands of injectors side by side have less
)

const raise = "set the environment variable " + SizeVariable + " to the megabytes that it may have"

// A longLine is the number of a line that has more than maxLine bytes.
type longLine int

func (l longLine) Error() string { return fmt.Sprintf("line %d is too long", int(l)) }

// A bounded passes text on until a line has more than maxLine bytes, so that a file
// without line ends fills no memory. A packed file has no lines.
type bounded struct {
	in     io.Reader
	begun  bool
	packed bool
	lines  int // that have ended
	run    int // bytes since then
}

func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.in.Read(p[:min(len(p), maxLine)])
	if !b.begun && n > 0 {
		b.begun, b.packed = true, p[0] == 'P' && (n == 1 || p[1] == 'K')
	}
	if b.packed {
		return n, err
	}
	first := bytes.IndexAny(p[:n], "\r\n")
	if first < 0 {
		b.run += n
	} else if b.run += first; b.run <= maxLine {
		b.run = n - 1 - bytes.LastIndexAny(p[:n], "\r\n")
	}
	if b.run > maxLine {
		return n, longLine(b.lines + 1)
	}
	b.lines += bytes.Count(p[:n], []byte{'\n'})
	return n, err
}
