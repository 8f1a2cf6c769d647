package sim

import (
	"math/rand/v2"
	"slices"

	"injtab/fit/unit"
)

// A Row is one reading as it was written down, with what nobody at the bench knew.
type Row struct {
	Injector string
	Point    Point
	Run      int // from 1
	Slot     int // from 1
	Shots    float64
	Volume   unit.Volume // as written
	Meant    unit.Volume // as read off the vessel: differs where the row is gross
	Gross    Gross
	Line     int    // of the file, from 1
	Column   string // header of the volume
}

// A Session is a bench file with the truth behind it.
type Session struct {
	Plan     Plan
	Design   Design
	CSV      []byte
	Units    map[string]Unit
	Troubles map[string]Trouble // of the injectors that are not sound
	Errors   Errors
	Rows     []Row
}

// Streams of random numbers, apart so that another bench measures the same units.
const (
	unitStream = iota + 1
	troubleStream
	sizeStream
	errorStream
	runStream
	grossStream
)

func stream(seed uint64, which uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, which)) }

// Run takes members of the family, drawn by the seed, through the plan.
func (p Plan) Run(d Design, seed uint64) Session {
	s := p.measure(d, seed)
	s.spoil(stream(seed, grossStream))
	s.write()
	return s
}

// measure draws the units and takes the readings, all written down right.
func (p Plan) measure(d Design, seed uint64) Session {
	s := Session{Plan: p, Design: d, Units: map[string]Unit{}, Errors: p.Bench.errors(stream(seed, errorStream))}
	s.Troubles = p.troubles(stream(seed, troubleStream))
	units, sizes := stream(seed, unitStream), stream(seed, sizeStream)
	for _, id := range p.IDs {
		s.Units[id] = d.Unit(units).With(s.Troubles[id], sizes)
	}
	s.take(stream(seed, runStream))
	return s
}

// troubles adds the plan's junk to the troubles that it names.
func (p Plan) troubles(rng *rand.Rand) map[string]Trouble {
	all := map[string]Trouble{}
	var sound []string
	for _, id := range p.IDs {
		if t := p.Troubles[id]; t != None {
			all[id] = t
		} else {
			sound = append(sound, id)
		}
	}
	rng.Shuffle(len(sound), func(i, j int) { sound[i], sound[j] = sound[j], sound[i] })
	for i, id := range sound[:min(p.Junk, len(sound))] {
		all[id] = Dead + Trouble(i)%Erratic
	}
	return all
}

// take takes the readings, batch after batch, point after point.
func (s *Session) take(rng *rand.Rand) {
	b, middle := s.Plan.Bench, s.Design.Nominal().Truth()
	run := 0
	for _, step := range s.Plan.Steps {
		for _, batch := range step.batches(b.Slots) {
			for _, at := range step.Points {
				run++
				shots, d := s.Plan.shots(middle, at), b.drift(rng)
				for slot, id := range batch {
					v := b.deliver(s.Units[id].shaken(rng), at, shots, s.Errors, d)
					v = b.read(v, slot, s.Errors, rng)
					s.Rows = append(s.Rows, Row{Injector: id, Point: at, Run: run, Slot: slot + 1, Shots: shots, Volume: v, Meant: v})
				}
			}
		}
	}
}

// GrossRows are the readings that were written down wrong.
func (s Session) GrossRows() []Row {
	return slices.DeleteFunc(slices.Clone(s.Rows), func(r Row) bool { return r.Gross == Right })
}
