package bench

// asides keeps what is written beside readings, once for all readings that have it.
type asides struct {
	chunks [][]Aside
	known  map[Aside]*Aside
	last   *Aside
}

const (
	asideChunk = 256
	mostAsides = 1000 // kept for other readings; of more, notes most likely, the last one
)

// keep gives the place of a; nil where nothing is written.
func (s *asides) keep(a Aside) *Aside {
	switch {
	case a == Aside{}:
		return nil
	case s.last != nil && *s.last == a:
		return s.last
	}
	if kept, ok := s.known[a]; ok {
		s.last = kept
		return kept
	}
	n := len(s.chunks)
	if n == 0 || len(s.chunks[n-1]) == asideChunk {
		s.chunks = append(s.chunks, make([]Aside, 0, asideChunk))
		n++
	}
	s.chunks[n-1] = append(s.chunks[n-1], a)
	s.last = &s.chunks[n-1][len(s.chunks[n-1])-1]
	if a.Mass <= 0 && len(s.known) < mostAsides {
		if s.known == nil {
			s.known = map[Aside]*Aside{}
		}
		s.known[a] = s.last
	}
	return s.last
}

// change changes all that is kept.
func (s *asides) change(how func(*Aside)) {
	for _, chunk := range s.chunks {
		for i := range chunk {
			how(&chunk[i])
		}
	}
}
