package sim

import (
	"math"
	"math/rand/v2"
	"strconv"

	"injtab/fit/unit"
)

// Gross is how a reading was written down wrong.
type Gross uint8

const (
	Right    Gross = iota
	Digit          // one digit is another
	Swapped        // two readings of a run changed places
	Overflow       // twice the shots, and the vessel ran over
)

func (g Gross) String() string { return [...]string{"right", "digit", "swapped", "overflow"}[g] }

// A slip counts as gross beyond both: smaller ones are lost among the other errors.
const (
	grossPart      = 0.05
	grossDivisions = 3
)

// spoil writes the plan's part of the readings down wrong.
func (s *Session) spoil(rng *rand.Rand) {
	for i := range s.Rows {
		if rng.Float64() < float64(s.Plan.Gross) && s.Rows[i].Gross == Right {
			s.slip(i, rng)
		}
	}
}

// slip writes row i down wrong in a way drawn at random; a swap needs another row
// of the run and a wide file has one count for a whole line.
func (s *Session) slip(i int, rng *rand.Rand) {
	const tries = 20
	for range tries {
		switch kind := Digit + Gross(rng.IntN(3)); {
		case kind == Digit && s.wrongDigit(i, rng),
			kind == Swapped && s.swap(i, rng),
			kind == Overflow && !s.Plan.Wide && s.overflow(i):
			return
		}
	}
}

// gross tells whether v is grossly wrong for what was meant.
func (s *Session) gross(v, meant unit.Volume) bool {
	off := math.Abs(float64(v - meant))
	return off > grossDivisions*float64(s.Plan.Bench.Division) && off > grossPart*float64(meant)
}

func (s *Session) wrongDigit(i int, rng *rand.Rand) bool {
	r := &s.Rows[i]
	text := []byte(s.Plan.Bench.text(r.Meant))
	k := rng.IntN(len(text))
	if text[k] == '.' {
		return false
	}
	text[k] = byte('0' + rng.IntN(10))
	x, err := strconv.ParseFloat(string(text), 64)
	if v := unit.Ml(x); err == nil && s.gross(v, r.Meant) {
		r.Volume, r.Gross = v, Digit
		return true
	}
	return false
}

// mistype writes row i down with one digit wrong.
func (s *Session) mistype(i int) {
	rng := stream(uint64(i), grossStream)
	for !s.wrongDigit(i, rng) {
	}
}

func (s *Session) swap(i int, rng *rand.Rand) bool {
	j := i - s.Rows[i].Slot + 1 + rng.IntN(s.Plan.Bench.Slots)
	if j >= len(s.Rows) || s.Rows[j].Run != s.Rows[i].Run || s.Rows[j].Gross != Right {
		return false
	}
	a, b := &s.Rows[i], &s.Rows[j]
	if !s.gross(a.Meant, b.Meant) || !s.gross(b.Meant, a.Meant) {
		return false
	}
	a.Volume, b.Volume = b.Meant, a.Meant
	a.Gross, b.Gross = Swapped, Swapped
	return true
}

func (s *Session) overflow(i int) bool {
	r := &s.Rows[i]
	if full := s.Plan.Bench.Capacity; s.gross(full, 2*r.Meant) && 2*r.Meant > full {
		r.Shots, r.Meant, r.Volume, r.Gross = 2*r.Shots, 2*r.Meant, full, Overflow
		return true
	}
	return false
}
