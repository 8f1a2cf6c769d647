// Package fit turns checked readings into a model of each injector, with honest
// uncertainty: what it delivers for a pulse, at a pressure, at a voltage.
//
// The model, in the working units of this package (pulse and dead time ms,
// voltage V, pressure kPa, delivered volume µl per shot, static flow µl/ms):
//
//	q(t, p, v) = S(p) · g(w)            delivered volume
//	S(p)       = S · (p/p_ref)^n        orifice law
//	w          = t − d(p, v)            open time
//	g(w)       = w + c(w, …)            effective pulse; c bends it below the linear region
//
// Shapes (n, the dead-time curve, the bend c) are shared by the family of
// injectors; each injector has its own static flow S and its own factor on the
// dead time. All are estimated at once, by robust weighted least squares.
//
// An ECU looks the model up backwards: wanted volume → effective pulse u = g →
// u + correction + dead time, with correction = g⁻¹(u) − u.
package fit
