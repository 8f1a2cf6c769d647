// Package plan says which readings to take: points, shots, order, and how sure
// the result will be.
//
//	Inputs ─► job ─► candidates ─► search ─► order of runs ─► Plan ─► Report, Form
//	                     │           ▲
//	                     └─► fit.Outlook, fit.Predict
//
// Points are chosen, not fixed: the search adds, drops and swaps candidate points
// until the worst uncertainty of what the tables need is as small as the bench time
// allows, and the result is set beside an evenly spread plan of the same time. All
// predicted uncertainties come from the fit's own Jacobian at the expected
// parameters.
package plan
