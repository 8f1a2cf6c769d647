// Package lsq fits by least squares: linear with weights, straight lines with
// their inverse, nonlinear with parameters shared between groups of readings,
// and robust versions of these.
//
// Everything rests on orthogonal (Householder) triangular factors; normal
// equations are never formed, because they square the condition number of the
// problem. A result is either a converged fit with its covariance or an error:
// a fit that did not settle is never handed out as one that did.
// Beside them stand the medians that robust methods rest on, and Share, which gives
// independent work to the processors.
//
// Nothing here knows what is being measured. Slices of parameters, residuals
// and weights are plain float64; a wrong length is a mistake of the calling
// code and panics, while data that cannot be fitted give an error.
package lsq
