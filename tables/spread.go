package tables

import (
	"math"
	"sync"

	"injtab/fit"
	"injtab/fit/unit"
)

// spreadLeft says what each form of the trims leaves of the difference between
// injectors: how far, by the model, each delivers from what is wanted over the
// pulses, pressures and running voltages that were measured.
func (b *builder) spreadLeft(ts []Table) Table {
	t := Table{
		Name: "spread_left", Title: "Spread that is left", Corner: "form",
		About: "How far the injectors deliver from what is wanted, by the model, over the measured pressures, running voltages and pulses: before trims, and with each form of them.",
		Row:   Column{Name: "form", Title: "Trims", Text: true, About: "Form of the trims."},
		Cols: []Column{
			{Name: "p95_pct", Title: "95 of 100 within", Unit: "%", UCUM: "%", Decimals: 2, About: "95th percentile of the error without sign."},
			{Name: "worst_pct", Title: "Worst", Unit: "%", UCUM: "%", Decimals: 2, About: "Largest error without sign."},
			{Name: "from_2ms_p95_pct", Title: "95 of 100 within, from 2 ms", Unit: "%", UCUM: "%", Decimals: 2, About: "The same for effective pulses of 2 ms and more."},
		},
	}
	e, err := NewECU(ts)
	if err != nil {
		return t
	}
	p := b.played(e)
	for _, form := range e.Forms() {
		all, long := p.errors(form)
		if len(all) == 0 {
			continue
		}
		fromLong := errorCell(long, 0.95) // before all are reordered
		t.RowText = append(t.RowText, form.String())
		t.Cells = append(t.Cells, []Cell{errorCell(all, 0.95), errorCell(all, 1), fromLong})
	}
	return t
}

func errorCell(x []float64, q float64) Cell {
	if len(x) == 0 {
		return known(0, 0, 2, false)
	}
	return known(fit.Percentile(x, q), 0, 2, true)
}

// A play is an ECU that drives the injectors: what is common to all forms of the trims.
type play struct {
	us     []float64 // wanted, effective ms, rising
	places []playedAt
	trims  []*Trim   // by injector
	room   []float64 // for the errors, by pulse
}

// A playedAt is a pressure and voltage with what the injectors do there.
type playedAt struct {
	placed
	mean float64 // static flow of the mean injector, ml/min
	bend fit.Bend
	does []does // by injector
}

// does is what an injector does at a place.
type does struct {
	dead float64 // ms; NaN where it does not open
	part float64 // its flow as a part of the mean
}

func (b *builder) played(e *ECU) *play {
	lo, hi := b.shortRange()
	p := &play{}
	p.us, _ = shortSamples(math.Max(lo, 0.5), hi, 12)
	for _, g := range b.who {
		p.trims = append(p.trims, e.trim(b.m.Members[g].ID))
	}
	for _, c := range b.runningConditions(runningFrom, runningTo, 3, 3) {
		at := playedAt{placed: e.at(c[0], c[1], true), mean: b.meanFlow(c[0]), bend: b.m.BendAt(unit.Volts(c[1]))}
		for _, g := range b.who {
			at.does = append(at.does, does{
				dead: b.m.DeadTimeOf(g, unit.KPa(c[0]), unit.Volts(c[1])),
				part: b.m.FlowOf(g, unit.KPa(c[0])) * b.factor / at.mean,
			})
		}
		p.places = append(p.places, at)
	}
	p.room = make([]float64, len(p.us)*len(p.places)*len(p.trims))
	return p
}

// errors plays a form and asks the model what each injector delivers; per cent without
// sign, of all pulses and of those from 2 ms effective. They hold until the next form.
func (p *play) errors(form Form) (all, long []float64) {
	each := len(p.places) * len(p.trims)
	found := make([][]float64, len(p.us))
	var wait sync.WaitGroup
	for k, u := range p.us {
		wait.Go(func() { found[k] = p.errorsAt(form, u, p.room[k*each:k*each]) })
	}
	wait.Wait()
	all, from := p.room[:0], 0
	for k, u := range p.us {
		if u < 2 {
			from += len(found[k])
		}
		all = append(all, found[k]...) // which are there or further on
	}
	return all, all[from:]
}

// errorsAt appends the errors at an effective pulse of u ms.
func (p *play) errorsAt(form Form, u float64, errors []float64) []float64 {
	for k := range p.places {
		at := &p.places[k]
		for i, x := range at.does {
			pulse := at.pulse(p.trims[i], form, u*at.mean/60000)
			if math.IsNaN(pulse) || math.IsNaN(x.dead) {
				continue
			}
			errors = append(errors, 100*math.Abs(x.part*at.bend.Effective(pulse-x.dead, x.dead)/u-1))
		}
	}
	return errors
}
