package bench

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"injtab/fit/unit"
)

// causes looks for what may have happened to readings that do not fit.
type causes struct {
	f        *family
	misses   *misses
	top      map[string]float64 // largest amount read, by vessel
	shots    []float64          // all that the sheet has
	doubtful map[int][]int      // readings that fit badly, by point
}

const doubtSigmas = 3 // standard deviations

func newCauses(f *family, all *misses) *causes {
	c := f.c
	s := &causes{f: f, misses: all, top: map[string]float64{}, shots: c.shotsOf(), doubtful: map[int][]int{}}
	for _, m := range all.far(doubtSigmas, 0) {
		p := c.PointOf(m.reading)
		s.doubtful[p] = append(s.doubtful[p], m.reading)
	}
	top := make([]unit.Volume, len(c.sheet.Readings.asides))
	for _, x := range c.sheet.Readings.rows {
		if x.volume > top[x.aside] { // a millisecond of a million readings; max stores each time and takes ten
			top[x.aside] = x.volume
		}
	}
	for j, most := range top {
		vessel := c.sheet.Readings.asides[j].vessel
		s.top[vessel] = max(s.top[vessel], float64(most))
	}
	return s
}

// shotsOf lists the numbers of shots that a sheet has, in its order, each once; of very
// many the first.
func (c *Checked) shotsOf() (list []float64) {
	const enough = 1000
	seen := map[float64]bool{}
	last := 0.0
	for j, readings := range c.readingsOf {
		n := c.sheet.Readings.commons[j].shots
		if readings == 0 || math.Float64bits(n) == math.Float64bits(last) || seen[n] {
			continue
		}
		last, seen[n] = n, true
		if list = append(list, n); len(list) == enough {
			break
		}
	}
	return list
}

// tell gives the amount that a wrong reading should show, m³, and what may have happened
// as a clause with the remedy.
func (s *causes) tell(k int) (want float64, cause string) {
	c := s.f.c
	m, judged := s.misses.at(k)
	if c.wrong[k] == doesNotFit {
		return c.want(m), s.likely(m)
	}
	cause = "the amounts seem to have slipped by one row: compare them with your notes"
	if !judged { // too little is left of the injector to say more than its family does
		return s.f.middleOf(k), cause
	}
	return c.want(m), cause
}

// read is the amount that was written, m³.
func (s *causes) read(k int) float64 { return float64(s.f.c.sheet.Readings.rows[k].volume) }

// fits tells whether an amount is what was wanted of a reading.
func (s *causes) fits(amount float64, m miss) bool {
	want := s.f.c.want(m)
	return math.Abs(amount-want) <= math.Max(3*m.sigma*want, 1.5*float64(s.f.c.divisionOf(m.reading)))
}

// of a wrong reading, the likeliest cause as a clause with the remedy.
func (s *causes) likely(m miss) string {
	for _, look := range []func(miss) string{s.nothing, s.swapped, s.overflow, s.point, s.digit, s.otherShots, s.otherPulse} {
		if cause := look(m); cause != "" {
			return cause
		}
	}
	return "no single slip explains it: take the reading again"
}

func (s *causes) nothing(m miss) string {
	if s.read(m.reading) > 0 {
		return ""
	}
	return "it may have stuck, or the vessel was emptied before it was read: take the reading again"
}

// swapped finds a reading, at the same point or the next in the sheet, that this one
// changed places with.
func (s *causes) swapped(m miss) string {
	k := m.reading
	for _, other := range s.near(k) {
		n, judged := s.misses.at(other)
		if other == k || !judged || math.Abs(n.z()) < doubtSigmas || !s.fits(s.read(k), n) || !s.fits(s.read(other), m) {
			continue
		}
		r := s.f.c.sheet.Readings.At(other)
		return fmt.Sprintf("it seems to have changed places with the %s of injector %s in line %d: swap them back", s.f.c.amount(other, s.read(other)), r.Injector, r.Line)
	}
	return ""
}

// near lists the readings that one may have changed places with: its neighbours in the
// sheet, and the doubtful ones of its point.
func (s *causes) near(k int) (list []int) {
	for _, other := range []int{k - 1, k + 1} {
		if other >= 0 && other < len(s.f.c.wrong) {
			list = append(list, other)
		}
	}
	same := s.doubtful[s.f.c.PointOf(k)]
	at, _ := slices.BinarySearch(same, k)
	return append(list, same[max(0, at-swapReach):min(len(same), at+1+swapReach)]...)
}

// overflow finds an amount at the top of its vessel where more would fit.
func (s *causes) overflow(m miss) string {
	k := m.reading
	vessel := s.f.c.sheet.Readings.aside(k).vessel
	div := float64(s.f.c.divisionOf(k))
	if m.part > 0 || s.read(k) < s.top[vessel]-div/2 || s.read(k) < 5*div || s.f.c.want(m) < s.read(k)*1.05 {
		return ""
	}
	return "nothing larger was read, so the vessel may have run over: take it again with fewer shots"
}

func (s *causes) point(m miss) string {
	for _, times := range []float64{10, 0.1, 100, 0.01} {
		if s.fits(s.read(m.reading)*times, m) {
			return "the decimal point is in the wrong place"
		}
	}
	return ""
}

// digit finds what fits among the numbers that a slip of the pen away from the one
// written: a digit more, less, another, or two that changed places.
func (s *causes) digit(m miss) string {
	k := m.reading
	text := s.f.c.number(k, s.read(k))
	best, off := "", math.Inf(1)
	for _, t := range slipsOf(text) {
		x, err := strconv.ParseFloat(t, 64)
		amount := x * s.f.c.perUnit(k)
		if d := math.Abs(amount - s.f.c.want(m)); err == nil && t != text && s.fits(amount, m) && d < off {
			best, off = t, d
		}
	}
	if best == "" {
		return ""
	}
	if zero := strings.TrimLeft(best, "0"); zero != "" && zero[0] != '.' {
		best = zero // 146.5 for 46.5, not for 046.5
	}
	return fmt.Sprintf("a digit may be wrong, %s for %s", text, best)
}

// slipsOf lists the numbers one slip of the pen away.
func slipsOf(text string) []string {
	var all []string
	for i := range len(text) + 1 {
		for d := byte('0'); d <= '9'; d++ {
			all = append(all, text[:i]+string(d)+text[i:])
			if i < len(text) && text[i] != '.' {
				all = append(all, text[:i]+string(d)+text[i+1:])
			}
		}
		if i < len(text) && text[i] != '.' {
			all = append(all, text[:i]+text[i+1:])
		}
		if i+1 < len(text) && text[i] != '.' && text[i+1] != '.' {
			all = append(all, text[:i]+text[i+1:i+2]+text[i:i+1]+text[i+2:])
		}
	}
	return all
}

// otherShots finds shots, of those that the sheet has, that the amount would fit.
func (s *causes) otherShots(m miss) string {
	shots := s.f.c.sheet.Readings.common(m.reading).shots
	need := shots * (1 + m.part)
	for _, other := range s.shots {
		if math.Abs(other/need-1) < math.Max(0.02, 2*m.sigma) && math.Abs(other/shots-1) > wrongPart {
			return fmt.Sprintf("%.6g shots instead of %.6g would fit: check the count", other, shots)
		}
	}
	return ""
}

// otherPulse finds a pulse, of those measured under this condition, that the amount
// would fit.
func (s *causes) otherPulse(m miss) string {
	f, k := s.f, m.reading
	i, p := f.c.InjectorOf(k), f.c.PointOf(k)
	if f.cond[p] < 0 {
		return ""
	}
	for _, q := range f.conds[f.cond[p]].points {
		e := f.expect(i, q, f.c.pairs.find(i, q))
		if e.sigma > 0 && q != p && math.Abs(f.c.perShot(k)/e.perShot-1) < math.Max(0.02, 2*e.sigma) {
			return fmt.Sprintf("it fits a pulse of %.6g ms: check what was set", f.c.points[q].Pulse.Ms())
		}
	}
	return ""
}

// perUnit is the volume of one unit that a reading was written in: a millilitre, or
// a gram of what was weighed.
func (c *Checked) perUnit(k int) float64 {
	if r := c.sheet.Readings.At(k); r.Mass > 0 {
		return float64(r.Volume) / r.Mass.Grams()
	}
	return 1e-6
}

// number writes an amount as a reading would: to its division.
func (c *Checked) number(k int, amount float64) string {
	digits := 1
	if step := float64(c.divisionOf(k)) / c.perUnit(k); step > 0 {
		digits = max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	}
	text := strconv.FormatFloat(amount/c.perUnit(k), 'f', min(digits, 6), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// amount is number with its unit.
func (c *Checked) amount(k int, amount float64) string {
	if c.sheet.Readings.mass(k) > 0 {
		return c.number(k, amount) + " g"
	}
	return c.number(k, amount) + " ml"
}
