package match

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// A truth says how the true logarithms of an injector lie, before its own
// readings are looked at: as those of the pile do. It is normal, with the mean
// and the covariance over the points that the pile's readings show when the
// noise is taken off. Given an injector's readings, the true values then have
// the normal distribution of a vector known through noise (best linear
// prediction): near the readings where noise is small, and where it is not, as
// near as readings at other points allow.
//
// This counts because of two sorts of luck. A set is chosen for close readings,
// which are partly chance; its worst point is chosen for a wide reading, which
// is too. Adding noise to the readings once more, or leaving both out, gives
// intervals that hold the true spread little more than half of the time.
type truth struct {
	mean  []float64
	noise []float64     // of each column: the scale in which the covariance is kept
	cov   *mat.SymDense // in units of noise; nil: too few injectors to tell
}

// leastForTruth is how many injectors it takes to tell how they vary.
const leastForTruth = 6

// smallestNoise stands in for noise that is not known, relative.
const smallestNoise = 1e-7

// newTruth is nil when the readings have no known noise.
func (p *pile) newTruth() *truth {
	n, d := len(p.units), len(p.points)
	t := &truth{mean: make([]float64, d), noise: make([]float64, d)}
	known := false
	for j := range d {
		var sum, square float64
		for u := range n {
			sum += p.log[u][j]
			square += p.noise[u][j] * p.noise[u][j]
		}
		t.mean[j] = sum / float64(n)
		t.noise[j] = max(math.Sqrt(square/float64(n)), smallestNoise)
		known = known || square > 0
	}
	if !known {
		return nil
	}
	if n >= leastForTruth {
		t.cov = t.signal(p.log)
	}
	return t
}

// signal is the covariance of the rows, in units of noise, less the noise, and
// nothing in the directions in which the rows vary less than by noise.
func (t *truth) signal(rows [][]float64) *mat.SymDense {
	d := len(t.mean)
	s := mat.NewSymDense(d, nil)
	for _, row := range rows {
		s.SymRankOne(s, 1/float64(len(rows)-1), mat.NewVecDense(d, t.scaled(row)))
	}
	values, vectors := eigen(s)
	for k := range values {
		values[k] = max(values[k]-1, 0)
	}
	return rebuilt(values, vectors)
}

// scaled is a row less the mean, in units of noise.
func (t *truth) scaled(row []float64) []float64 {
	y := make([]float64, len(row))
	for j := range row {
		y[j] = (row[j] - t.mean[j]) / t.noise[j]
	}
	return y
}

// A conditional is the distribution of an injector's true logarithms given its
// readings.
type conditional struct {
	mean []float64
	root *mat.Dense // its covariance is root · rootᵀ
}

// given is what a row of readings with its noise tells of the true values.
func (t *truth) given(row, noise []float64) conditional {
	d := len(row)
	if t.cov == nil {
		root := mat.NewDense(d, d, nil)
		for j, u := range noise {
			root.Set(j, j, u)
		}
		return conditional{row, root}
	}
	// With P = H·H the covariance and N the noise, the covariance given the
	// readings is H·(I + H·N⁻¹·H)⁻¹·H, in which nothing singular is inverted, and
	// the mean is that times N⁻¹ times the readings.
	half, y := t.halfCov(), t.scaled(row)
	var weighted, inner mat.Dense
	weighted.CloneFrom(half)
	for j := range d {
		u := max(noise[j], smallestNoise) / t.noise[j]
		y[j] /= u * u
		for k := range d {
			weighted.Set(j, k, weighted.At(j, k)/(u*u))
		}
	}
	inner.Mul(half, &weighted)
	values, vectors := eigen(symmetric(&inner))
	for k := range values {
		values[k] = 1 / math.Sqrt(1+max(values[k], 0))
	}
	c := conditional{mean: make([]float64, d), root: new(mat.Dense)}
	c.root.Mul(half, rebuilt(values, vectors))
	var inward, outward mat.VecDense
	inward.MulVec(c.root.T(), mat.NewVecDense(d, y))
	outward.MulVec(c.root, &inward)
	for j := range d {
		c.mean[j] = t.mean[j] + t.noise[j]*outward.AtVec(j)
	}
	c.root.Apply(func(j, _ int, x float64) float64 { return x * t.noise[j] }, c.root)
	return c
}

// symmetric is m, symmetric but for rounding, as a symmetric matrix.
func symmetric(m *mat.Dense) *mat.SymDense {
	d, _ := m.Dims()
	s := mat.NewSymDense(d, nil)
	for a := range d {
		for b := a; b < d; b++ {
			s.SetSym(a, b, (m.At(a, b)+m.At(b, a))/2)
		}
	}
	return s
}

// halfCov is the symmetric square root of the covariance.
func (t *truth) halfCov() *mat.SymDense {
	values, vectors := eigen(t.cov)
	for k := range values {
		values[k] = math.Sqrt(max(values[k], 0))
	}
	return rebuilt(values, vectors)
}

// draw fills to with one draw.
func (c conditional) draw(r *rand.Rand, to []float64) {
	copy(to, c.mean)
	d := len(to)
	for k := range d {
		z := r.NormFloat64()
		for j := range d {
			to[j] += c.root.At(j, k) * z
		}
	}
}

// eigen takes a symmetric matrix apart. The factorisation of a finite symmetric
// matrix always succeeds.
func eigen(s *mat.SymDense) ([]float64, *mat.Dense) {
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		panic("match: a symmetric matrix was not factorised")
	}
	vectors := new(mat.Dense)
	e.VectorsTo(vectors)
	return e.Values(nil), vectors
}

// rebuilt puts a symmetric matrix together from values and vectors.
func rebuilt(values []float64, vectors *mat.Dense) *mat.SymDense {
	s := mat.NewSymDense(len(values), nil)
	for k, v := range values {
		s.SymRankOne(s, v, vectors.ColView(k))
	}
	return s
}
