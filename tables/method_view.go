package tables

import (
	"fmt"
	"slices"

	"injtab/fit"
	"injtab/fit/bench"
)

// Measured says what a session holds: the conditions, the vessel and the gauges.
func Measured(m *fit.Model) Section {
	s, setup, points := m.Checked.Sheet(), m.Checked.Setup(), m.Checked.Points()
	rows := [][]string{
		{"Readings", fmt.Sprintf("%d of %s", s.Readings.Len()+s.Readings.Rest(), counted(len(m.Checked.Injectors()), "injector"))},
		{"Pulses", values(points, "ms", 4, func(p bench.Point) float64 { return p.Pulse.Ms() })},
		{"Pressures", values(points, "kPa", 1, func(p bench.Point) float64 { return p.Pressure.KPa() })},
		{"Voltages", values(points, "V", 2, func(p bench.Point) float64 { return p.Voltage.V() })},
		{"Bench fluid", Capital(benchFluid(m))},
	}
	if setup.Temp != 0 {
		rows = append(rows, []string{"Temperature", fmt.Sprintf("%.3g °C", setup.Temp.C())})
	}
	if setup.Division != 0 {
		rows = append(rows, []string{"Smallest division", fmt.Sprintf("%.3g ml", setup.Division.Ml())})
	}
	rows = append(rows, []string{"Limits of error", fmt.Sprintf("pressure %.3g %%, voltage %.3g %%, pulse %.3g ms",
		setup.PressureLimit.Pct(), setup.VoltageLimit.Pct(), setup.TimerLimit.Ms())})
	if setup.Driver != "" {
		rows = append(rows, []string{"Driver", setup.Driver})
	}
	t := textTable("measured", "What was measured", "", []string{"what", "value"}, rows)
	return Section{Name: t.Name, Heading: t.Title, Tables: []Table{t}}
}

// mostValues is how many conditions are listed one by one.
const mostValues = 8

// values are the different conditions of a session's pulsed points, to so many digits
// after the point.
func values(points []bench.Point, unit string, digits int, of func(bench.Point) float64) string {
	var all []float64
	for _, p := range points {
		if !p.Leak && !p.Static {
			all = append(all, round(of(p), digits))
		}
	}
	slices.Sort(all)
	texts := make([]string, len(all))
	for i, x := range all {
		texts[i] = number(x)
	}
	texts = slices.Compact(texts)
	switch n := len(texts); {
	case n == 0:
		return "none"
	case n > mostValues:
		return fmt.Sprintf("%d from %s to %s %s", n, texts[0], texts[n-1], unit)
	}
	return listed(texts) + " " + unit
}

// Method says how the numbers are made, and after whom.
func Method() Section {
	return Section{Name: "method", Heading: "How the numbers are made", Text: []string{
		"Fuel per shot is static flow times effective pulse: the pulse, less the dead time, bent where short pulses bend. Flow follows pressure as through an orifice, with the power that the readings ask for; dead time follows the time that a coil's current takes to reach what spring and pressure ask for (an R-L circuit). All injectors share the shapes of these curves; each has its own flow and its own factor of the dead time.",
		"All readings are fitted at once by weighted least squares. A gross error loses its weight (Tukey's bisquare after a resistant start). Several forms compete by the corrected Akaike criterion (Hurvich and Tsai, Biometrika 76, 1989), and readings held out decide.",
		"Intervals hold 95 of 100: the scatter of the readings, the divisions of the vessel and the limits of error of gauges, voltmeter and timer as uniform distributions (JCGM 100:2008, the Guide to the Expression of Uncertainty in Measurement), and what the form of the curves may miss.",
		"Breakpoints are those of the least worst error for their number, values those that straight lines between them fit best. The finished tables are looked up as an ECU does it and compared with the readings.",
	}}
}
