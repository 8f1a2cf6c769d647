package lsq

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Matrices in this file are column-major with a stride: column k is
// a[k*stride : k*stride+rows]. Long contiguous columns are what the vector
// kernels of floats.Dot and floats.AddScaled like best.

// reflector turns x into the Householder vector v (in place, x[0] included)
// that maps x to (beta, 0, ..., 0), and returns beta and tau, so that
// H = I - tau v vᵀ. A zero x gives beta = tau = 0 (H = I).
func reflector(x []float64) (beta, tau float64) {
	norm := math.Sqrt(floats.Dot(x, x))
	if norm <= 0 {
		return 0, 0
	}
	beta = -math.Copysign(norm, x[0])
	x[0] -= beta
	return beta, -1 / (beta * x[0])
}

// eliminate applies k Householder reflections to the rows × cols matrix a, so
// that its first k columns become upper triangular. The entries below the
// diagonal of those columns are left as scratch.
func eliminate(a []float64, stride, rows, cols, k int) {
	for c := range min(k, rows) {
		v := a[c*stride+c : c*stride+rows]
		beta, tau := reflector(v)
		for j := c + 1; j < cols; j++ {
			x := a[j*stride+c : j*stride+rows]
			floats.AddScaled(x, -tau*floats.Dot(v, x), v)
		}
		v[0] = beta
	}
}
