package tables

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"injtab/fit/diag"
)

// compact is the whole family in a few numbers, for an ECU that holds no grid:
//
//	flow      = flow_ml_min · (p / reference_kpa)^exponent
//	dead time = a + b·(10/v) + c·(10/v)² + d·(p/reference_kpa − 1)
//	short     = bend_ms · (1 − u/bend_until_ms)  below bend_until_ms, else 0
//
// a to d are least squares of the dead-time grid's own model over the measured
// region; the worst deviation of each part from the model is in the table.
func (b *builder) compact() Table {
	t := Table{
		Name: "compact", Title: "Few numbers instead of tables", Corner: "quantity",
		About: "flow = flow_ml_min·(p/reference_kpa)^exponent; dead time = dead_a_ms + dead_b_ms·10/v + dead_c_ms·(10/v)² + dead_d_ms·(p/reference_kpa − 1); below bend_until_ms effective add bend_ms·(1 − u/bend_until_ms).",
		Row:   Column{Name: "quantity", Title: "Quantity", Text: true, About: "Name in the formula."},
		Cols: []Column{{Name: "value", Title: "Value", Decimals: 5, UCUM: "1", Mixed: true, About: "In the unit that its name ends with."},
			{Name: "worst_miss", Title: "Worst deviation from the model", Decimals: 5, UCUM: "1", Mixed: true, About: "Of the part that the number belongs to: flow in per cent, times in ms."}},
	}
	add := func(name string, value float64, digits int, miss float64, ok bool) {
		t.RowText = append(t.RowText, name)
		t.Cells = append(t.Cells, []Cell{known(value, 0, digits, true), known(miss, 0, 4, ok)})
	}
	flow := b.m.Flow(b.who, b.refP)
	n, measured := b.m.Exponent()
	add("reference_kpa", b.refP.KPa(), 2, 0, false)
	add("flow_ml_min", flow.Value*b.factor, 2, 0, true)
	add("exponent", n.Value, 4, 0, measured)
	coef, miss, ok := b.deadPolynomial()
	for i, c := range coef {
		add(fmt.Sprintf("dead_%c_ms", 'a'+i), c, 5, miss, ok)
	}
	size, until, missed := b.bendPair()
	add("bend_ms", size, 4, missed, true)
	add("bend_until_ms", until, 3, missed, true)
	if !measured {
		t.Notes = append(t.Notes, diag.Warn("exponent_assumed", "one pressure was measured: the exponent of the compact form is the orifice law's 0.5, not a measured one"))
	}
	return t
}

// deadPolynomial fits a + b·x + c·x² + d·y, x = 10 V/v, y = p/p_ref − 1, with as many
// terms as the voltages and pressures measured support.
func (b *builder) deadPolynomial() (coef []float64, worst float64, ok bool) {
	vs, ps := b.m.Voltages(), b.m.Pressures()
	terms := min(len(vs), 3)
	cols := terms
	if len(ps) > 1 {
		cols++
	}
	var x, y []float64
	for _, v := range spaced(vs[0], vs[len(vs)-1], 25) {
		for _, p := range spaced(ps[0], ps[len(ps)-1], 9) {
			d := b.tableDead(p, v)
			if math.IsNaN(d) {
				continue
			}
			for i := range terms {
				x = append(x, math.Pow(10/v, float64(i)))
			}
			if cols > terms {
				x = append(x, p/b.refP.KPa()-1)
			}
			y = append(y, d)
		}
	}
	coef = make([]float64, 4)
	if len(y) < cols {
		return coef, 0, false
	}
	var fit mat.VecDense
	a := mat.NewDense(len(y), cols, x)
	if err := fit.SolveVec(a, mat.NewVecDense(len(y), y)); err != nil {
		return coef, 0, false
	}
	for i := range cols {
		k := i
		if i == terms {
			k = 3
		}
		coef[k] = fit.AtVec(i)
	}
	for r := range y {
		worst = math.Max(worst, math.Abs(mat.Dot(a.RowView(r), &fit)-y[r]))
	}
	return coef, worst, true
}

// bendPair is the threshold pair of the short-pulse correction: the one of a grid of
// ends whose worst part of the delivered fuel is least.
func (b *builder) bendPair() (size, until, worst float64) {
	lo, hi := b.shortRange()
	us, _ := shortSamples(lo, hi, 80)
	curve := sample(b.shortCurve(b.refV.V()), us)
	best := math.Inf(1)
	for _, end := range us[2:] {
		// Least squares of the size for this end.
		var xy, xx float64
		for i, u := range us {
			if x := 1 - u/end; x > 0 {
				xy, xx = xy+x*curve[i]/(u*u), xx+x*x/(u*u)
			}
		}
		if xx <= 0 {
			continue
		}
		s, miss, part := xy/xx, 0.0, 0.0
		for i, u := range us {
			off := math.Abs(s*math.Max(0, 1-u/end) - curve[i])
			miss, part = math.Max(miss, off), math.Max(part, off/u)
		}
		if part < best {
			best, size, until, worst = part, s, end, miss
		}
	}
	return size, until, worst
}
