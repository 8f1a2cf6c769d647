// Package engine answers the engine's side of the job: the injector that an
// engine needs, the pump that feeds it, and how much duty is left with the
// injectors at hand.
//
// One line of thought runs through it:
//
//	power × specific consumption ─┐
//	                              ├► fuel per hour ► fuel per pulse ► static flow
//	air breathed ÷ mixture ───────┘                   window, duty, dead time, pressure
//
// Size follows it from left to right, Headroom back again. Each relation is one
// function with its symbols, units and source; inputs that were not given are
// filled in from one list of defaults, and every default used is reported.
//
// Speeds are plain float64 in turns per minute (rpm), lambda and air-fuel ratios
// plain float64; everything else has a type of package unit. Four-stroke engines,
// port injection, liquid fuel.
package engine
