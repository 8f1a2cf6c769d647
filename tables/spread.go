package tables

import (
	"math"
	"slices"

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
	for _, form := range e.Forms() {
		all, long := b.formErrors(e, form)
		if len(all) == 0 {
			continue
		}
		row := []Cell{errorCell(all, 0.95), errorCell(all, 1), errorCell(long, 0.95)}
		t.RowText = append(t.RowText, form.String())
		t.Cells = append(t.Cells, row)
	}
	return t
}

func errorCell(x []float64, q float64) Cell {
	if len(x) == 0 {
		return known(0, 0, 2, false)
	}
	slices.Sort(x)
	return known(percentile(x, q), 0, 2, true)
}

// formErrors plays the ECU and asks the model what each injector delivers; per cent
// without sign, of all pulses and of those from 2 ms effective.
func (b *builder) formErrors(e *ECU, form Form) (all, long []float64) {
	lo, hi := b.shortRange()
	us, _ := shortSamples(math.Max(lo, 0.5), hi, 12)
	for _, c := range b.runningConditions(runningFrom, runningTo, 3, 3) {
		flow := b.meanFlow(c[0])
		for _, g := range b.who {
			dead := b.m.DeadTimeOf(g, unit.KPa(c[0]), unit.Volts(c[1]))
			own := b.m.FlowOf(g, unit.KPa(c[0])) * b.factor / flow
			for _, u := range us {
				pulse, err := e.Pulse(b.m.Members[g].ID, form, e.TwoWay(), u*flow/60000, c[0], c[1])
				if err != nil || math.IsNaN(dead) {
					continue
				}
				miss := 100 * math.Abs(own*b.m.EffectiveOf(pulse-dead, dead, c[1])/u-1)
				all = append(all, miss)
				if u >= 2 {
					long = append(long, miss)
				}
			}
		}
	}
	return all, long
}
