package bench

import (
	"bytes"
	"io"
	"runtime"
	"slices"
	"sync/atomic"

	"injtab/fit/unit"
)

// partSize is about how many bytes of a large file are read beside others. On two processors
// a million readings take 0.14 s instead of 0.21 s so. Where the parts end goes by the file
// alone, so that the readings are kept in the same way on any number of processors.
const partSize = 4 << 20

// parts are what is left of a text, cut at line ends into parts of at least so many bytes; nil
// where it is one.
func (s *csvSource) parts(least int64) (list []*csvSource, err error) {
	begin, size := s.text.at, s.text.in.Size()
	count := (size - begin) / least
	if s.quoted != nil || s.text.old || count < 2 {
		return nil, nil
	}
	for from, to := begin, begin; from < size; from = to {
		if to, err = lineEnd(s.text.in, min(from+(size-begin)/count, size)); err != nil {
			return nil, err
		}
		part := *s
		part.left = int(1.02*float64(s.left)*float64(to-from)/float64(size-begin)) + 1
		if len(list) > 0 { // only the first knows its lines
			part.line = 0
		}
		part.rows = twin{vary: s.rows.vary, separator: s.rows.separator}
		part.text = &text{in: io.NewSectionReader(s.text.in, 0, to), at: from} // its window is taken when it is read
		list = append(list, &part)
	}
	return list, nil
}

// lineEnd is where the line that is at a place ends.
func lineEnd(in *io.SectionReader, at int64) (int64, error) {
	window := make([]byte, 1<<12)
	for at < in.Size() {
		n, err := in.ReadAt(window, at)
		if end := bytes.IndexByte(window[:n], '\n'); end >= 0 {
			return at + int64(end) + 1, nil
		}
		if err == io.EOF { // the file may have become shorter, which reading it tells
			break
		}
		if err != nil {
			return 0, err
		}
		at += int64(n)
	}
	return in.Size(), nil
}

// readParts reads the parts of a large file side by side. It gives false, and has changed
// nothing, where the file is one part or holds anything to complain of: read as a whole it
// is told in the order of the file, with the lines that are not known here.
func (p *parser) readParts(src source, least int64) bool {
	whole, ok := src.(*csvSource)
	if !ok {
		return false
	}
	parts, err := whole.parts(least)
	if err != nil || len(parts) == 0 {
		return false
	}
	var next atomic.Int64
	var failed atomic.Bool
	workers := min(len(parts), runtime.GOMAXPROCS(0))
	ahead := make(chan struct{}, workers+1) // parts that are held
	used := make(chan collector, workers+1) // what held them before
	forks := make([]*parser, len(parts))
	read := make([]chan struct{}, len(parts))
	for i := range parts {
		forks[i], read[i] = p.fork(used), make(chan struct{})
	}
	for range workers {
		go func() {
			defer func() { <-ahead }()
			for {
				ahead <- struct{}{}
				i := int(next.Add(1)) - 1
				if i >= len(parts) {
					return
				}
				if !failed.Load() {
					forks[i].readPart(parts[i])
				}
				close(read[i])
			}
		}()
	}
	all, line, missing := p.start(whole), 0, 0
	for i, q := range forks {
		<-read[i]
		failed.Store(failed.Load() || q.complains())
		if !failed.Load() {
			all.join(q.readings, line)
			all.makeRoom()
			used <- q.readings
		}
		line, missing = line+parts[i].line, missing+q.out.Missing
		forks[i] = nil
		<-ahead
	}
	if failed.Load() {
		return false
	}
	p.readings, p.out.Missing, p.unmarked = all, missing, true
	return true
}

// readPart reads a part, which holds a window of the file only so long.
func (p *parser) readPart(s *csvSource) {
	var err error
	if s.text, err = newText(s.text.in, s.text.at, false); err != nil {
		p.failNote(err)
		return
	}
	p.readRows(s)
	s.text, s.rows = nil, twin{}
}

// fork is a parser for a part of the file. It collects where parts were collected before, and
// without end because the whole makes room.
func (p *parser) fork(used <-chan collector) *parser {
	q := *p
	q.cols = slices.Clone(p.cols)
	q.errs, q.notes, q.hashed, q.alike = nil, nil, nil, nil
	q.collect = func() collector {
		select {
		case c := <-used:
			return collector{
				rows: c.rows[:0], commons: shelf[common]{list: c.commons.list[:0]}, asides: shelf[aside]{list: c.asides.list[:0]}, labels: labels{text: c.labels.text[:0]},
				names: c.names, numbers: c.numbers, after: c.after, // which the whole has too by now
			}
		default:
			return collector{}
		}
	}
	return &q
}

// complains tells whether there is anything in a part that the user has to be told, or that
// goes by what stands in others.
func (p *parser) complains() bool {
	return len(p.errs) > 0 || len(p.notes) > 0 || len(p.hashed) > 0 || p.signs.comma.Line > 0
}

// join takes in what was read of a later part, whose lines count from one.
func (c *collector) join(part collector, line int) {
	injectors := make([]int32, len(part.names))
	for i, name := range part.names {
		injectors[i] = c.injector(name)
	}
	first, rest := len(c.rows), cap(c.rows)-len(c.rows)
	commons, asides, letters := len(c.commons.list), len(c.asides.list), len(c.labels.text)
	c.commons.list = append(slices.Grow(c.commons.list, len(part.commons.list)*rest/max(1, len(part.rows))), part.commons.list...)
	for j := commons; j < len(c.commons.list); j++ {
		x := &c.commons.list[j]
		x.run = label{x.run.from + letters, x.run.to + letters}
	}
	c.labels.text = append(c.labels.text, part.labels.text...)
	c.asides.list = append(c.asides.list, part.asides.list...)
	c.rows = append(c.rows, part.rows...)
	for k := range part.rows {
		x := &c.rows[first+k]
		x.injector, x.line = injectors[x.injector], x.line+int32(line)
		x.common, x.aside = x.common+int32(commons), x.aside+int32(asides)
	}
	if part.masses != nil && c.masses == nil {
		c.masses = make([]unit.Mass, first, cap(c.rows))
	}
	if c.masses != nil {
		c.masses = append(append(c.masses, part.masses...), make([]unit.Mass, len(part.rows)-len(part.masses))...)
	}
	if len(c.rows) > 0 {
		c.row = c.rows[len(c.rows)-1]
	}
}
