package bench

import (
	"io"
	"iter"

	"injtab/fit/unit"
)

// Readings are those of a session in the order of the file. An archive has a million of
// them and far fewer runs, so what the readings of a run have in common is kept once, and
// what is left of one has 24 bytes without a pointer that the collector of memory would
// follow. As a list of Reading a million took 104 MB, and checking them half as long again.
type Readings struct {
	names   []string // of injectors, in the order in which they come
	commons []common
	labels  string // of runs
	asides  []aside
	masses  []unit.Mass // by reading; nil: none was weighed
	rows    []record
	rest    int   // readings of the file that are not among these
	anew    *anew // where they are read; nil: there are none
}

// An anew is a file that is there to be read again, with the bytes that it may have.
type anew struct {
	in   *io.SectionReader
	most int64
}

// A record is what a reading has for itself; the rest by its place in the lists.
type record struct {
	volume                        unit.Volume
	injector, common, aside, line int32
}

// A common is what the readings of a run have in common.
type common struct {
	pulse, period unit.Time
	shots         float64
	pressure      unit.Pressure
	voltage       unit.Voltage
	temp          unit.Temperature
	run           label
}

// An aside is what else may be written of a reading. A session has many readings and few
// vessels.
type aside struct {
	slot, vessel, note string
	division           unit.Volume
	resistance         unit.Resistance
}

func (c *common) static() bool        { return c.pulse > 0 && c.pulse >= c.period }
func (c *common) leak() bool          { return c.pulse == 0 }
func (c *common) duration() unit.Time { return unit.Time(c.shots * float64(c.period)) }

// NewReadings keeps a list of readings.
func NewReadings(list ...Reading) Readings {
	var c collector
	for _, r := range list {
		c.add(r)
	}
	return c.readings()
}

// Len is how many there are.
func (rs Readings) Len() int { return len(rs.rows) }

// Rest is how many more the file has that are not held, because they are repeats of which
// there are very many.
func (rs Readings) Rest() int { return rs.rest }

// At is reading k, counted from 0.
func (rs Readings) At(k int) Reading {
	x := &rs.rows[k]
	c, a := &rs.commons[x.common], &rs.asides[x.aside]
	return Reading{
		Injector: rs.names[x.injector],
		Pulse:    c.pulse, Period: c.period, Shots: c.shots,
		Volume: x.volume, Mass: rs.mass(k),
		Pressure: c.pressure, Voltage: c.voltage, Temp: c.temp, Run: c.run.in(rs.labels),
		Slot: a.slot, Vessel: a.vessel, Note: a.note, Division: a.division, Resistance: a.resistance,
		Line: int(x.line),
	}
}

func (rs *Readings) mass(k int) unit.Mass {
	if rs.masses == nil {
		return 0
	}
	return rs.masses[k]
}

// common is what reading k has in common with others.
func (rs *Readings) common(k int) *common { return &rs.commons[rs.rows[k].common] }

// run is that of reading k; "": none.
func (rs *Readings) run(k int) string { return rs.common(k).run.in(rs.labels) }

// aside is what else was written of reading k.
func (rs *Readings) aside(k int) *aside { return &rs.asides[rs.rows[k].aside] }

// inCommon counts the readings that have each thing in common.
func (rs *Readings) inCommon() []int32 {
	count := make([]int32, len(rs.commons))
	for k := range rs.rows {
		count[rs.rows[k].common]++
	}
	return count
}

// All goes through them.
func (rs Readings) All() iter.Seq2[int, Reading] {
	return func(yield func(int, Reading) bool) {
		for k := range rs.rows {
			if !yield(k, rs.At(k)) {
				return
			}
		}
	}
}

// Amounts goes through what was read of each, with the division that was written beside it;
// 0: none was.
func (rs Readings) Amounts() iter.Seq2[unit.Volume, unit.Volume] {
	return func(yield func(volume, division unit.Volume) bool) {
		for k := range rs.rows {
			if x := &rs.rows[k]; !yield(x.volume, rs.asides[x.aside].division) {
				return
			}
		}
	}
}

// List gives them one by one, 170 bytes each.
func (rs Readings) List() []Reading {
	list := make([]Reading, rs.Len())
	for k := range list {
		list[k] = rs.At(k)
	}
	return list
}

// any tells whether a property holds for one of them.
func (rs Readings) any(has func(Reading) bool) bool {
	for _, r := range rs.All() {
		if has(r) {
			return true
		}
	}
	return false
}

// Only are those that are to be kept, without a rest.
func (rs Readings) Only(keep func(k int) bool) Readings {
	kept := rs
	kept.rows, kept.masses, kept.rest, kept.anew = nil, nil, 0, nil
	for k, x := range rs.rows {
		if !keep(k) {
			continue
		}
		kept.rows = append(kept.rows, x)
		if rs.masses != nil {
			kept.masses = append(kept.masses, rs.masses[k])
		}
	}
	return kept
}
