package lsq

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// A Reference is a quantity that others are compared with, such as the mean over many
// groups: what its variance takes is worked out once.
type Reference struct {
	s    *Solution
	z    map[int][]float64 // by group, Rgᵀz = its local gradient
	rest []float64         // of the shared gradient
	sum  float64           // of the squares of z
}

// Reference prepares the quantity with this gradient, as Variance takes it.
func (s *Solution) Reference(shared []float64, local map[int][]float64) *Reference {
	r := &Reference{s: s, z: make(map[int][]float64, len(local)), rest: make([]float64, s.factor.shared)}
	copy(r.rest, shared)
	for _, g := range slices.Sorted(maps.Keys(local)) {
		r.z[g] = s.factor.forwardLocal(g, local[g], r.rest, s.fixed)
		r.sum += floats.Dot(r.z[g], r.z[g])
	}
	return r
}

// VarianceFrom is Variance for the difference between the quantity with this gradient
// and the reference. It takes time by the groups of local alone.
func (r *Reference) VarianceFrom(shared []float64, local map[int][]float64) float64 {
	own := r.s.Reference(shared, local)
	sum := r.sum
	for _, g := range slices.Sorted(maps.Keys(own.z)) {
		z := own.z[g]
		if common, both := r.z[g]; both {
			sum -= floats.Dot(common, common)
			floats.Sub(z, common)
		}
		sum += floats.Dot(z, z)
	}
	floats.Sub(own.rest, r.rest)
	r.s.factor.forwardShared(own.rest, r.s.fixed)
	return math.Max(0, sum) + floats.Dot(own.rest, own.rest)
}
