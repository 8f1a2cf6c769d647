package fit_test

import (
	"math"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// grossSession is a mapped session without gross errors, and the same with some.
func grossSession(rate float64, d sim.Design, seed uint64) (clean, spoilt sim.Session) {
	p := sim.MappedPlan(4)
	clean = p.Run(d, seed)
	p.Gross = unit.Ratio(rate)
	return clean, p.Run(d, seed)
}

// verdictsOf finds how many gross readings of 8 % and more were not believed,
// whether by the checks or by the fit, and how many good ones were not either.
func verdictsOf(c bench.Checked, m *fit.Model, s sim.Session) (caught, gross, wrongly, good int) {
	doubted := map[int]bool{}
	for _, r := range m.Residuals() {
		if r.Weight < fit.Doubt {
			doubted[c.Readings().At(r.Reading).Line] = true
		}
	}
	for i, r := range c.Readings().All() {
		if c.Wrong(i) != "" {
			doubted[r.Line] = true
		}
	}
	for _, row := range s.Rows {
		big := row.Meant > 0 && math.Abs(float64(row.Volume/row.Meant)-1) >= 0.08
		switch {
		case row.Gross == sim.Right:
			good++
			if doubted[row.Line] {
				wrongly++
			}
		case big:
			gross++
			if doubted[row.Line] {
				caught++
			}
		}
	}
	return caught, gross, wrongly, good
}

// TestGross plants gross errors (a wrong digit, swapped cells, a vessel that ran
// over) in a tenth and in three tenths of the readings.
func TestGross(t *testing.T) {
	seeds := uint64(2)
	if long() {
		seeds = 20
	}
	// With a tenth gross nothing may move by more than its own half-width and three
	// quarters of the big ones are found; with three tenths the fit still holds.
	for _, rate := range []float64{0.1, 0.3} {
		allowed, found := 1.0, 75
		if rate > 0.2 {
			allowed, found = 2, 60
		}
		var caught, gross, wrongly, good int
		moved, total := 0, 0
		for _, d := range sim.Designs()[:4] {
			for seed := range seeds {
				clean, spoilt := grossSession(rate, d, 11001+seed)
				a := fitted(t, checkedSession(t, clean))
				checked := checkedSession(t, spoilt)
				b := fitted(t, checked)
				c, g, w, n := verdictsOf(checked, b, spoilt)
				caught, gross, wrongly, good = caught+c, gross+g, wrongly+w, good+n
				k, of := movedBeyond(a, b, allowed)
				moved, total = moved+k, total+of
			}
		}
		t.Logf("%.0f %% gross: %d of %d gross readings of 8 %% and more not believed, %d of %d good ones; %d of %d parameters moved by more than %.0f half-widths",
			100*rate, caught, gross, wrongly, good, moved, total, allowed)
		if 100*caught < found*gross {
			t.Errorf("%.0f %% gross: only %d of %d were not believed", 100*rate, caught, gross)
		}
		if 100*wrongly > 3*good {
			t.Errorf("%.0f %% gross: %d of %d good readings were not believed", 100*rate, wrongly, good)
		}
		if moved > 0 {
			t.Errorf("%.0f %% gross: %d of %d parameters moved by more than %.0f half-widths", 100*rate, moved, total, allowed)
		}
	}
}

// movedBeyond counts flows and dead times that differ between two fits by more
// than so many half-widths of the first.
func movedBeyond(a, b *fit.Model, halfWidths float64) (moved, of int) {
	for g, x := range a.Members {
		h, ok := b.Find(x.ID)
		if !ok {
			moved++
			continue
		}
		for _, c := range [][2]float64{{13.5, 300}, {12, 250}} {
			p, v := unit.KPa(c[1]), unit.Volts(c[0])
			for _, pair := range [][2]fit.Estimate{
				{a.Flow(fit.Who{g}, p), b.Flow(fit.Who{h}, p)},
				{a.DeadTime(fit.Who{g}, p, v), b.DeadTime(fit.Who{h}, p, v)},
			} {
				of++
				if math.Abs(pair[0].Value-pair[1].Value) > halfWidths*pair[0].CI95() {
					moved++
				}
			}
		}
	}
	return moved, of
}
