// Package sim simulates port fuel injectors and the flow benches that measure
// them, so that results can be compared with a known truth.
//
// An injector is a differential equation: the flux of a coil with eddy currents
// and saturation, a needle between two stops, and a liquid that passes the seat
// and the metering plate one after the other. Nothing here is fitted, and no
// formula is shared with package fit, which knows delivered fuel by its outward
// form alone. The designs are invented; no real injector is meant.
//
//	Design ─► Unit ─► Truth ─► PerShot           what an injector really delivers
//	Plan + Bench + Design + seed ─► Session       what somebody wrote down of it
//
// Everything is reproducible from its seed.
package sim
