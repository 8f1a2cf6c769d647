package bench

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"sync"
	"unicode/utf8"
	"unsafe"

	"injtab/fit/diag"
)

const windowSize = 1 << 18 // of a file, held at a time

// sectionOf gives an input as what can be read again: a file as it lies, so that it is
// never held as a whole; anything else, such as standard input, held up to so many bytes
// and one more.
func sectionOf(r io.Reader, most int64) (*io.SectionReader, error) {
	switch r := r.(type) {
	case *io.SectionReader:
		at, err := r.Seek(0, io.SeekCurrent)
		return io.NewSectionReader(r, at, r.Size()-at), err
	case *bytes.Reader:
		return io.NewSectionReader(r, r.Size()-int64(r.Len()), int64(r.Len())), nil
	case *os.File:
		info, err := r.Stat()
		if err != nil || !info.Mode().IsRegular() {
			break
		}
		at, err := r.Seek(0, io.SeekCurrent)
		return io.NewSectionReader(r, at, info.Size()-at), err
	}
	held, err := io.ReadAll(&bounded{in: io.LimitReader(r, most+1)})
	return io.NewSectionReader(bytes.NewReader(held), 0, int64(len(held))), err
}

// A survey is what is known of a file before its rows are read.
type survey struct {
	sha       string // SHA-256, hexadecimal
	start     []byte // the first bytes
	blank     bool   // nothing but white space
	lines     int    // line ends
	null      int    // line of the first byte that no text has; 0: none
	bad       int    // line of the first that is not UTF-8; 0: none
	lastQuote int64  // where the last quotation mark is; -1: none
}

// look goes through a file once.
func look(from io.Reader) (survey, error) {
	in := &bounded{in: from}
	s := survey{blank: true, lastQuote: -1}
	hash, beside := sha256.New(), sync.WaitGroup{} // a third of the time, beside the rest
	window, other := make([]byte, 0, windowSize), make([]byte, windowSize)
	at, err := int64(0), error(nil)
	for err == nil {
		var n int
		n, err = in.Read(window[len(window):cap(window)])
		fresh := window[len(window) : len(window)+n]
		beside.Wait()
		beside.Go(func() { hash.Write(fresh) })
		window = window[:len(window)+n]
		if s.start == nil {
			s.start = bytes.Clone(window)
		}
		part := window[:len(window)-cutRune(window)]
		if err != nil {
			part = window
		}
		s.see(part, at)
		at += int64(len(part))
		left := copy(other, window[len(part):])
		window, other = other[:left], window[:cap(window)]
	}
	beside.Wait()
	s.sha = hex.EncodeToString(hash.Sum(nil))
	if err == io.EOF {
		err = nil
	}
	return s, err
}

// see takes in a part of the file that ends with a whole letter.
func (s *survey) see(part []byte, at int64) {
	s.blank = s.blank && len(bytes.TrimSpace(part)) == 0
	if bytes.IndexByte(part, '"') >= 0 { // ten times as quick as to look from the end, and mostly enough
		s.lastQuote = at + int64(bytes.LastIndexByte(part, '"'))
	}
	if i := bytes.IndexByte(part, 0); i >= 0 && s.null == 0 {
		s.null = s.lineOf(part[:i])
	}
	if s.bad == 0 && !utf8.Valid(part) {
		s.bad = s.lineOf(part[:firstInvalid(part)])
	}
	s.lines += bytes.Count(part, []byte{'\n'})
}

// lineOf is the line that what stands before a place of this part leads to.
func (s *survey) lineOf(before []byte) int { return s.lines + 1 + bytes.Count(before, []byte{'\n'}) }

// cutRune is how many bytes at the end are the beginning of a letter.
func cutRune(text []byte) int {
	for n := 1; n <= min(utf8.UTFMax-1, len(text)); n++ {
		if tail := text[len(text)-n:]; utf8.RuneStart(tail[0]) {
			if utf8.FullRune(tail) {
				return 0
			}
			return n
		}
	}
	return 0
}

func firstInvalid(text []byte) int {
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return len(text)
}

// A text gives the lines of a file one after another.
type text struct {
	in   *io.SectionReader
	old  bool // lines end with a carriage return alone
	buf  *bufio.Reader
	long []byte // a line longer than the window
	at   int64  // where the next line begins
}

func newText(in *io.SectionReader, at int64, old bool) (*text, error) {
	t := &text{in: in, old: old, at: at}
	_, err := in.Seek(at, io.SeekStart)
	t.buf = bufio.NewReaderSize(t, windowSize)
	return t, err
}

// Read gives the rest of the text as it is, but for line ends of old.
func (t *text) Read(p []byte) (int, error) {
	n, err := t.in.Read(p)
	if t.old {
		for i, c := range p[:n] {
			if c == '\r' {
				p[i] = '\n'
			}
		}
	}
	return n, err
}

// next gives the next line without its end, valid until the next call; io.EOF after the
// last one. Copies of a million lines would take 0.1 s and 10 MB.
func (t *text) next() (string, error) {
	line, err := t.buf.ReadSlice('\n')
	if err == bufio.ErrBufferFull {
		t.long = append(t.long[:0], line...)
		line, err = t.buf.ReadBytes('\n')
		t.long = append(t.long, line...)
		line = t.long
	}
	t.at += int64(len(line))
	if err == io.EOF && len(line) > 0 {
		err = nil
	}
	if n := len(line); n > 0 && line[n-1] == '\n' {
		line = line[:n-1]
	}
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return unsafe.String(unsafe.SliceData(line), len(line)), err
}

// judge refuses what is no text.
func (s *survey) judge(p *parser) error {
	start := s.start[:min(len(s.start), 400)]
	switch {
	case bytes.HasPrefix(start, []byte("\xFF\xFE")), bytes.HasPrefix(start, []byte("\xFE\xFF")), bytes.Count(start, []byte{0}) > len(start)/4:
		return diag.Fail(diag.Place{File: p.file}, "encoding", "the text is UTF-16: save it as CSV UTF-8 and read it again")
	case s.null > 0:
		return diag.Fail(p.at(s.null, ""), "encoding", "there is a byte that no text has: is this a table saved as CSV?")
	case s.bad > 0:
		return diag.Fail(p.at(s.bad, ""), "encoding", "the text is not UTF-8 (a letter such as ° or µ was saved in an older encoding): save it as CSV UTF-8 and read it again")
	}
	return nil
}
