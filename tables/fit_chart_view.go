package tables

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit/unit"
)

// Charts are the pictures of a fit: delivered fuel, dead time, residuals.
func (r FitResult) Charts() []Chart {
	out := []Chart{r.deliveredChart()}
	if len(r.m.Voltages()) > 1 {
		out = append(out, r.deadTimeChart())
	}
	out = append(out, r.residualChart())
	for i := range out {
		out[i].Aside = true
	}
	return out
}

// deliveredChart is the mean injector's curve with the readings of all sound ones
// at the condition of most readings.
func (r FitResult) deliveredChart() Chart {
	p, v := r.busiest()
	c := Chart{
		Name: "delivered", Title: fmt.Sprintf("Delivered fuel at %s kPa and %s V", number(round(p.KPa(), 1)), number(round(v.V(), 2))),
		X: Scale{"Pulse", "ms"}, Y: Scale{"Delivered per shot", "ml"},
		Alt: "Delivered fuel rises with the pulse, straight but for the shortest pulses; points are readings of all injectors, the line is the mean injector.",
	}
	points := Series{Name: "readings", Kind: Points}
	longest := 0.0
	there := slices.DeleteFunc(slices.Concat(r.residuals, r.Misfits), func(x FitReading) bool {
		return math.Abs(x.PressureKPa-p.KPa()) > 0.01*p.KPa() || math.Abs(x.VoltageV-v.V()) > 0.1
	})
	c.Title += ofReadings(len(there))
	for i, x := range there {
		if !drawn(i, len(there)) {
			continue
		}
		points.X = append(points.X, x.PulseMs)
		points.Y = append(points.Y, x.perShot)
		points.Labels = append(points.Labels, fmt.Sprintf("injector %s, %s ms", x.Injector, number(x.PulseMs)))
		longest = math.Max(longest, x.PulseMs)
	}
	who := soundOf(r.m)
	line := Series{Name: "mean injector", Kind: Line}
	from := r.m.DeadTime(who, p, v).Value
	for _, t := range spaced(from, math.Max(longest, from+1), 60) {
		if ml := r.m.MeanDelivered(who, unit.Ms(t), p, v); !math.IsNaN(ml) {
			line.X, line.Y = append(line.X, t), append(line.Y, ml)
		}
	}
	c.Series = []Series{line, points}
	return c
}

// busiest is the pressure and voltage of most readings.
func (r FitResult) busiest() (unit.Pressure, unit.Voltage) {
	count := map[[2]float64]int{}
	best, most := [2]float64{r.AtPressure, r.AtVoltage}, 0
	for _, x := range r.residuals {
		k := [2]float64{round(x.PressureKPa, 0), round(x.VoltageV, 1)}
		count[k]++
		if count[k] > most {
			best, most = k, count[k]
		}
	}
	return unit.KPa(best[0]), unit.Volts(best[1])
}

// deadTimeChart is the mean injector's dead time over voltage, one line for each
// end and the middle of the pressures measured, with its interval.
func (r FitResult) deadTimeChart() Chart {
	c := Chart{
		Name: "dead_time", Title: "Dead time of the mean injector", X: Scale{"Voltage", "V"}, Y: Scale{"Dead time", "ms"},
		Alt: "Dead time falls with the supply voltage and rises with pressure; the band is the 95 % interval at the reference pressure.",
	}
	vs, who := r.m.Voltages(), soundOf(r.m)
	over := spaced(vs[0], vs[len(vs)-1], 40)
	band := Series{Name: "95 % interval", Kind: Band}
	for _, v := range over {
		if e := r.m.DeadTime(who, r.m.RefP, unit.Volts(v)); e.Status.HasValue() {
			band.X, band.Y = append(band.X, v), append(band.Y, e.Value)
			band.Lo, band.Hi = append(band.Lo, e.Lo), append(band.Hi, e.Hi)
		}
	}
	c.Series = append(c.Series, band)
	for _, p := range ends(r.m.Pressures()) {
		s := Series{Name: number(round(p, 1)) + " kPa", Kind: Line}
		for _, v := range over {
			if ms := r.m.MeanDeadTime(who, unit.KPa(p), unit.Volts(v)); !math.IsNaN(ms) {
				s.X, s.Y = append(s.X, v), append(s.Y, ms)
			}
		}
		c.Series = append(c.Series, s)
	}
	return c
}

// ends are the first, the middle and the last of rising values.
func ends(x []float64) []float64 {
	switch n := len(x); {
	case n <= 3:
		return x
	default:
		return []float64{x[0], x[n/2], x[n-1]}
	}
}

func (r FitResult) residualChart() Chart {
	s := Series{Name: "readings", Kind: Points}
	for i, x := range r.residuals {
		if !drawn(i, len(r.residuals)) {
			continue
		}
		s.X, s.Y = append(s.X, x.PulseMs), append(s.Y, x.ErrorPct)
		s.Labels = append(s.Labels, "injector "+x.Injector+", "+condition(x.PulseMs, x.PressureKPa, x.VoltageV))
	}
	return Chart{
		Name: "residuals", Title: "What the curves leave" + ofReadings(len(r.residuals)), X: Scale{"Pulse", "ms"}, Y: Scale{"Read, less fitted", "%"},
		Alt: "Each reading's distance from the model in per cent over the pulse; readings that do not fit are left out.", Series: []Series{s},
		Marks: []Mark{{Name: "fitted", At: 0}},
	}
}
