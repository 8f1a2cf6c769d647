package tables

// Effective is the effective pulse in ms of a wanted volume in ml per shot at a
// static flow in ml/min: the first step of the tables' rule.
func Effective(ml, flow float64) float64 { return 60000 * ml / flow }

// Trimmed is an effective pulse after a trim in per cent.
func Trimmed(u, trimPct float64) float64 { return u * (1 + trimPct/100) }

// Sum is the pulse in ms: effective pulse, corrections and dead times added up.
func Sum(ms ...float64) (total float64) {
	for _, x := range ms {
		total += x
	}
	return total
}

// SampleFuel is a volume in ml per shot to begin with where a user may type any:
// what the mean injector delivers in 4 ms of effective pulse.
func (s Set) SampleFuel() float64 {
	t, ok := s.Find("flow")
	if !ok || len(t.Cells) == 0 {
		return 0
	}
	return round(4*t.Cells[len(t.Cells)/2][0].Value/60000, 5)
}
