package bench

import (
	"io"
	"math"
	"slices"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

const (
	restBlock = 1 << 16 // readings of the rest that are held at a time
	restTold  = 100     // wrong ones of them that are named
	restSlips = 0.25    // of those of a pair; of more, it is what was expected that is wrong
)

// A Rest is the mean of what is not held one by one of an injector at a point: of the
// readings that delivered something and were not judged wrong.
type Rest struct {
	N        int // 0: there is none
	PerShot  unit.Volume
	Read     unit.Volume // standard uncertainty of the mean by vessel and count
	Pressure unit.Pressure
	Voltage  unit.Voltage
}

// sums are those of some of the rest of a pair.
type sums struct {
	n, nothing              int     // readings that delivered something, and that did not
	perShot, read, variance float64 // m³, m⁶, and that with the technique
	pressure, voltage       float64 // Pa, V
}

// A restJudge judges the readings of a file that its sheet does not hold. It holds them by
// what was expected of each pair by those that are held, and keeps sums of the pair.
type restJudge struct {
	c           *Checked
	expected    []expected
	place       map[string]int32      // of injectors
	near        map[times][]int32     // points
	logPressure []float64             // by point
	found       map[[4]uint64][]int32 // points that are near to conditions met lately
	parser      *parser

	right, wrong []sums  // by pair
	out          []int32 // by pair: with all others of their point
	next         int     // reading that is held
	seen         int
	told         []toldWrong
}

// A toldWrong is a wrong reading that is named, with its pair.
type toldWrong struct {
	pair int32
	note diag.Note
}

// judgeRest reads the file again.
func (c *Checked) judgeRest(all []expected) error {
	j := &restJudge{c: c, expected: all, place: map[string]int32{}, near: map[times][]int32{}, found: map[[4]uint64][]int32{}}
	for i, inj := range c.injectors {
		j.place[inj.ID] = int32(i)
	}
	for p := range c.points {
		at := timesOf(c.points[p])
		j.near[at] = append(j.near[at], int32(p))
		j.logPressure = append(j.logPressure, math.Log(float64(c.points[p].Pressure)))
	}
	again := c.sheet.Readings.anew
	j.parser = &parser{file: c.sheet.File, most: again.most, collect: j.begin}
	_, s, err := j.parser.readAll(io.NewSectionReader(again.in, 0, again.in.Size())) // another check may read it too
	if err != nil {
		return err
	}
	j.block(&j.parser.readings)
	if s.sha != c.sheet.SHA256 || j.seen != c.sheet.Readings.rest {
		return diag.Fail(c.sheet.whole(), "changed", "the file was changed while it was read: read it again")
	}
	doubted := j.doubt()
	c.rest, c.restOut = j.right, make([]int32, len(j.out))
	for n := range c.restOut {
		c.restOut[n] = j.out[n] + int32(j.wrong[n].count())
	}
	c.addRest()
	j.tell(doubted)
	return nil
}

// begin begins from the first reading.
func (j *restJudge) begin() collector {
	pairs := j.c.pairs.count()
	j.right, j.wrong, j.out = make([]sums, pairs), make([]sums, pairs), make([]int32, pairs)
	j.next, j.seen, j.told = 0, 0, nil
	return collector{room: restBlock, full: j.block}
}

// block judges what was collected and lets it go.
func (j *restJudge) block(c *collector) {
	b := *j.c // the same judgement, of these readings
	b.sheet.Readings = c.readings()
	rs := &b.sheet.Readings
	rs.asides = slices.Clone(rs.asides)
	j.parser.convert(rs, j.c.sheet.Setup)
	near := make([][]int32, len(rs.commons))
	b.pointOf = make([]int32, len(rs.commons))
	for n := range rs.commons {
		if near[n] = j.nearest(&rs.commons[n]); len(near[n]) > 0 {
			b.pointOf[n] = near[n][0]
		}
	}
	places := make([]int32, len(rs.names))
	for n, name := range rs.names {
		places[n] = none
		if i, known := j.place[name]; known {
			places[n] = i
		}
	}
	b.readingsOf = rs.inCommon()
	b.findScales()
	for k := range rs.rows {
		x := &rs.rows[k]
		i := places[x.injector]
		if i == none || j.holds(i, x.line) {
			continue
		}
		if n := j.pair(i, near[x.common]); n != none {
			j.take(&b, k, n)
		}
	}
	c.empty()
}

// nearest are the points that readings may belong to, the nearest first. Those of a point
// and of a bin differ by no more than a step each.
func (j *restJudge) nearest(x *common) (list []int32) {
	const steps = 2 + 1e-6
	if list, met := j.found[x.bits()]; met {
		return list
	}
	at := x.point()
	logPressure := math.Log(float64(at.Pressure))
	var far []float64 // of each
	for _, p := range j.near[timesOf(at)] {
		pressure, voltage := math.Abs(logPressure-j.logPressure[p])/samePressure, 0.0
		if !at.Leak {
			voltage = math.Abs(at.Voltage.V()-j.c.points[p].Voltage.V()) / sameVoltage
		}
		if pressure > steps || voltage > steps {
			continue
		}
		n, _ := slices.BinarySearch(far, pressure+voltage)
		far, list = slices.Insert(far, n, pressure+voltage), slices.Insert(list, n, p)
	}
	if len(j.found) == restBlock {
		clear(j.found)
	}
	j.found[x.bits()] = list
	return list
}

// holds tells whether the reading of an injector in a line is one that the sheet holds. Lines
// are asked for in their order.
func (j *restJudge) holds(i, line int32) bool {
	c := j.c
	rows := c.sheet.Readings.rows
	for j.next < len(rows) && rows[j.next].line < line {
		j.next++
	}
	for k := j.next; k < len(rows) && rows[k].line == line; k++ { // a wide row has several
		if c.pairOf(k).injector == i {
			return true
		}
	}
	return false
}

// pair is that of an injector at the nearest of some points where readings of it are held,
// as some of all that are alike are; none in a file that was changed.
func (j *restJudge) pair(i int32, near []int32) int32 {
	for _, p := range near {
		if n := j.c.pairs.find(int(i), int(p)); n != none {
			return n
		}
	}
	return none
}

// take judges a reading and adds it to the sums of its pair.
func (j *restJudge) take(b *Checked, k int, n int32) {
	x, e := &b.pairs.list[n], j.expected[n]
	j.seen++
	if b.rows[x.point] != "" {
		j.out[n]++
		return
	}
	c := b.sheet.Readings.common(k)
	scale := c.perShotScale(&b.points[x.point])
	y := float64(b.sheet.Readings.rows[k].volume) * scale
	to := &j.right[n]
	if m := e.miss(k, y); e.sigma > 0 && !b.erratic[x.injector] && b.tooFar(m) {
		to = &j.wrong[n]
		j.name(b, n, m)
	}
	to.add(y, scale, b.Weight(k), c)
}

// add adds a reading that shows so much of a shot, m³.
func (s *sums) add(perShot, scale float64, w Weight, c *common) {
	s.variance += square(scale) * float64(w.variance())
	if perShot <= 0 {
		s.nothing++
		return
	}
	s.n++
	s.perShot += perShot
	s.read += square(scale) * float64(w.ofReading())
	s.pressure += float64(c.pressure)
	s.voltage += float64(c.voltage)
}

func (s *sums) count() int { return s.n + s.nothing }

// plus adds the readings of other sums.
func (s *sums) plus(o sums) {
	s.n, s.nothing = s.n+o.n, s.nothing+o.nothing
	s.perShot, s.read, s.variance = s.perShot+o.perShot, s.read+o.read, s.variance+o.variance
	s.pressure, s.voltage = s.pressure+o.pressure, s.voltage+o.voltage
}

// name names a wrong reading, of very many the first.
func (j *restJudge) name(b *Checked, n int32, m miss) {
	if len(j.told) == restTold {
		return
	}
	k := m.reading
	j.told = append(j.told, toldWrong{n, b.leftOut(b.sheet.Readings.At(k), int(b.pairs.list[n].point), b.misread(k, b.want(m)))})
}

// doubt finds the pairs of which too much of the rest would be wrong: then it is what was
// expected by few readings that is, and all of them count.
func (j *restJudge) doubt() (pairs int) {
	for n := range j.right {
		wrong := float64(j.wrong[n].count())
		if wrong > restSlips*(wrong+float64(j.right[n].count())) && wrong > 1 {
			pairs++
			j.right[n].plus(j.wrong[n])
			j.wrong[n] = sums{}
		}
	}
	j.told = slices.DeleteFunc(j.told, func(x toldWrong) bool { return j.wrong[x.pair].count() == 0 })
	return pairs
}

// tell says how the readings were judged.
func (j *restJudge) tell(doubted int) {
	c, wrong := j.c, 0
	for n := range j.wrong {
		wrong += j.wrong[n].count()
	}
	for _, x := range j.told {
		c.notes = append(c.notes, x.note)
	}
	if more := wrong - len(j.told); more > 0 {
		at := c.sheet.whole()
		if len(j.told) > 0 {
			at.Line = j.told[len(j.told)-1].note.Place.Line
		}
		c.warn(at, "wrong-reading", "beside those named before, %s that can only be slips: they are left out too", count(more, "reading", "readings"))
	}
	if doubted > 0 {
		c.warn(c.sheet.whole(), "many-repeats", "of %s more than a quarter of the readings are far from what the few that are held let expect: all of them count, slips among them too", count(doubted, "injector at a point", "injectors at points"))
	}
	c.warn(c.sheet.whole(), "many-repeats", "the file has %d readings, more than are held at a time: %d of them, an even choice of the repeats, tell what was to be expected, and each of the others was judged by it and counts in the means; verdicts, leak rates, runs, slots and what tables are compared with go by that choice",
		c.sheet.Readings.Len()+c.sheet.Readings.rest, c.sheet.Readings.Len())
}

// addRest adds the rest to the means of the readings that are held.
func (c *Checked) addRest() {
	for n := range c.rest {
		more, m := &c.rest[n], &c.means[n]
		if more.count() == 0 {
			continue
		}
		held := float64(m.N)
		m.N += more.count()
		all := float64(m.N)
		m.PerShot = unit.Volume((float64(m.PerShot)*held + more.perShot) / all)
		m.U = unit.Volume(math.Sqrt(square(float64(m.U)*held)+more.variance) / all)
	}
}

// Rest is what is not held of injector i at point p.
func (c *Checked) Rest(i, p int) Rest {
	n := c.pairs.find(i, p)
	if n == none || c.rest == nil || c.rest[n].n == 0 {
		return Rest{}
	}
	s, all := &c.rest[n], float64(c.rest[n].n)
	return Rest{
		N: s.n, PerShot: unit.Volume(s.perShot / all), Read: unit.Volume(math.Sqrt(s.read) / all),
		Pressure: unit.Pressure(s.pressure / all), Voltage: unit.Voltage(s.voltage / all),
	}
}

// ReadingsOf is how many readings of the file are those of injector i, held or not.
func (c *Checked) ReadingsOf(i int) int {
	first, end := c.pairs.ofInjector(i)
	readings := int(c.pairs.list[end].first - c.pairs.list[first].first)
	if c.rest == nil {
		return readings
	}
	for n := first; n < end; n++ {
		readings += c.rest[n].count() + int(c.restOut[n])
	}
	return readings
}
