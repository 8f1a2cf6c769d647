package fit

// A deadCurve is a form of the dead time of the family over pressure and
// voltage, with the place where an injector's own factor enters.
type deadCurve interface {
	// names of the parameters, for reports
	names() []string
	// bind computes what does not depend on the condition, for an injector whose
	// own log-factor is pull.
	bind(theta []float64, pull float64) bound
	// locate gives what the form needs to know of a place.
	locate(at place) located
	// eval gives the dead time in ms at a place, writes ∂d/∂θ into grad, which may be
	// nil, and returns ∂d/∂pull.
	eval(theta []float64, b bound, at located, grad []float64) (d, dPull float64)
	// at computes what all injectors share at p kPa and v V; of b it takes nothing that
	// is an injector's own.
	at(theta []float64, b bound, p, v float64) deadPlace
}

// A located place stands beside the reference pressure and the measured voltages.
type located struct {
	v    float64 // V
	rel  float64 // pressure over the reference
	node int     // the last measured voltage that is not above v
	part float64 // of the way over 1/v to the next
}

// A deadPlace is the dead time at one place, for an injector of any factor of its own.
type deadPlace struct {
	rising     bool    // the factor enters the rise of the current, else all is times the factor
	x, tau     float64 // of a rise
	fixed      float64 // ms; beside a rise, else all of the dead time
	deviation  float64 // ms; of a rise
	leastVolts float64 // at which an injector of factor 1 opens, V; 0: not known
}

// of is the dead time in ms of an injector.
func (d deadPlace) of(own float64) float64 {
	if !d.rising {
		return d.fixed * own
	}
	l, _ := rise(own * d.x)
	return d.fixed + d.tau*l + d.deviation
}

// opening is the voltage below which an injector does not open, in V; 0 where the form
// knows none.
func (d deadPlace) opening(own float64) float64 {
	if !d.rising {
		return d.leastVolts
	}
	return own * d.leastVolts
}

// A bound holds the exponentials of parameters, which cost more than the rest.
type bound struct{ tau, a, own float64 }
