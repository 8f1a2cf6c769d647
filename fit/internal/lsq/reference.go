package lsq

import "math"

// A Reference is a quantity that others are compared with, such as the mean over many
// groups: what its variance takes is worked out once.
type Reference struct {
	s    *Solution
	z    []float64 // by group, Rgᵀz = its local gradient
	rest []float64 // of the shared gradient
	sum  float64   // of the squares of z
}

// Reference prepares the quantity with this gradient, as Variance takes it.
func (s *Solution) Reference(shared []float64, local Locals) *Reference {
	n := s.factor.local
	r := &Reference{s: s, z: make([]float64, s.factor.groups*n), rest: make([]float64, s.factor.shared)}
	copy(r.rest, shared)
	for k, g := range local.Groups {
		z := r.z[g*n : (g+1)*n]
		copy(z, local.of(k, n))
		s.factor.forwardLocal(g, z, r.rest, s.fixed)
		r.sum += sumSquares(z)
	}
	return r
}

// VarianceFrom is Variance for the difference between the quantity with this gradient
// and the reference. It takes time by the groups of local alone.
func (r *Reference) VarianceFrom(shared []float64, local Locals) float64 {
	n := r.s.factor.local
	rest := append(make([]float64, 0, few), make([]float64, r.s.factor.shared)...)
	copy(rest, shared)
	z := make([]float64, 0, few)
	sum := r.sum
	for k, g := range local.Groups {
		z = append(z[:0], local.of(k, n)...)
		r.s.factor.forwardLocal(g, z, rest, r.s.fixed)
		common := r.z[g*n : (g+1)*n]
		sum -= sumSquares(common)
		takeOff(z, 1, common)
		sum += sumSquares(z)
	}
	takeOff(rest, 1, r.rest)
	r.s.factor.forwardShared(rest, r.s.fixed)
	return math.Max(0, sum) + sumSquares(rest)
}
