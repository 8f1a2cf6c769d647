package fit

import (
	"fmt"
	"strings"

	"injtab/fit/internal/lsq"
)

// A Choice is one form that was tried, and how well it did.
type Choice struct {
	DeadTime, Bend string  // in words
	Params         int     // shared parameters
	AICc           float64 // corrected Akaike criterion; the smallest is proposed
	Chosen         bool
}

// A candidate is a form with its name in words.
type candidate struct {
	family
	deadName, bendName string
}

const (
	coilName    = "rise of the coil current"
	curveName   = "curve through the measured voltages"
	levelName   = "one dead time at the one voltage measured"
	decayName   = "exponential return to the line"
	voltageName = "exponential return to the line, by voltage"
	liftName    = ", and a needle that does not reach its stop"
)

// candidates lists the forms that the session can support, the default first.
func candidates(d dataset, gs guess, refP, refV float64) []candidate {
	voltages, pressures := d.voltages(), d.pressures()
	freeN := len(d.flowPressures()) > 1
	refD := nearest(gs.points, refP, refV)
	var deads []deadCurve
	var deadNames []string
	if len(voltages) > 1 {
		c := coil{ref: refP}
		if len(voltages) > 3 {
			c.nodes = nodes{voltages}
		}
		whole := c
		whole.whole = true
		deads = append(deads, c, whole)
		deadNames = append(deadNames, coilName, coilName+", injectors differ by a factor on the whole")
	}
	name := curveName
	if len(voltages) == 1 {
		name = levelName
	}
	deads = append(deads, curve{ref: refP, nodes: nodes{voltages}, pressure: len(pressures) > 1})
	deadNames = append(deadNames, name)

	bends, bendNames := bendForms(d, gs, refV, refD, len(voltages))
	var out []candidate
	for i, dead := range deads {
		for j, b := range bends {
			out = append(out, candidate{newFamily(refP, refV, freeN, dead, b), deadNames[i], bendNames[j]})
		}
	}
	return out
}

// mayNotStop is the open time in ms below which a needle may not reach its stop.
const mayNotStop = 0.9

// shortOpen is the open time in ms below which a pulse tells of the bend.
const shortOpen = 1.6

func bendForms(d dataset, gs guess, refV, refD float64, voltages int) ([]returning, []string) {
	short, ballistic := map[float64]int{}, 0
	for _, x := range d.all {
		w := x.c.pulse - nearest(gs.points, x.c.p, x.c.v)
		if !x.c.static && w < shortOpen {
			short[x.c.v]++
		}
		if !x.c.static && w < mayNotStop {
			ballistic++
		}
	}
	one := returning{refV: refV, refD: refD}
	bends, names := []returning{one}, []string{decayName}
	if voltages > 1 && len(short) > 1 {
		two := one
		two.voltage = true
		bends, names = append(bends, two), append(names, voltageName)
	}
	if ballistic >= 4 {
		for i, b := range bends {
			b.lift = true
			bends, names = append(bends, b), append(names, names[i]+liftName)
		}
	}
	return bends, names
}

// flowPressures are the pressures of all readings, held-open ones too.
func (d dataset) flowPressures() []float64 {
	all := d
	all.groups = nil
	for _, g := range d.groups {
		moved := make([]datum, len(g))
		copy(moved, g)
		for i := range moved {
			moved[i].c.static = false
		}
		all.groups = append(all.groups, moved)
	}
	return all.pressures()
}

// choose fits the default form robustly, then lets the other forms compete with
// the weights and uncertainties found there, and refits the winner.
func choose(d dataset, gs guess, refP, refV float64) (solution, []Choice, error) {
	forms := candidates(d, gs, refP, refV)
	first, err := solve(forms[0].family, d, forms[0].startFrom(gs, len(d.groups)), firstNoise, 3)
	if err != nil {
		return solution{}, nil, err
	}
	choices := make([]Choice, len(forms))
	best := 0
	for i, form := range forms {
		choices[i] = Choice{DeadTime: form.deadName, Bend: form.bendName, Params: form.shared(), AICc: first.criterion(form.family, gs)}
		if choices[i].AICc < choices[best].AICc {
			best = i
		}
	}
	choices[best].Chosen = true
	if best == 0 {
		return first, choices, nil
	}
	out, err := solve(forms[best].family, d, forms[best].startFrom(gs, len(d.groups)), first.noise, 2)
	return out, choices, err
}

// firstNoise is assumed until residuals tell.
var firstNoise = Noise{RelativePct: 0.4, ShortPct: 1.5}

// criterion is the corrected Akaike criterion of another form on the same
// readings, with the same weights; a form that can't be fitted loses.
func (s solution) criterion(f family, gs guess) float64 {
	start := lsq.Start{Shared: s.Shared, Local: s.Local}
	p := f.problem(s.data, s.deviations(s.data, start, s.noise))
	p.Weights = s.weights
	fit, err := lsq.Levenberg(p, f.startFrom(gs, len(s.data.groups)), searchOptions)
	if err != nil {
		return worstCriterion
	}
	return lsq.AICc(fit.RSS, fit.N, f.shared()+locals*len(s.data.groups))
}

const worstCriterion = 1e300

func (c Choice) String() string {
	return fmt.Sprintf("dead time: %s; short pulses: %s", c.DeadTime, strings.ToLower(c.Bend))
}
