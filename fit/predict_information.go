package fit

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// An information is the matrix JᵀJ + P of an Outlook, whose injectors are alike
// within a class. With C the local block of one injector of a class, B its local
// by shared block and C = LLᵀ, what a class of n leaves for the shared parameters
// is n·(A − SᵀS), S = L⁻¹B (Björck, Numerical Methods for Least Squares Problems,
// 6.3, from memory).
type information struct {
	sizes  []int
	all    int         // injectors
	prior  []float64   // of the shared parameters, as precision
	own    []float64   // of the local ones
	block  []classInfo // by class
	shared blas64.Symmetric
	factor blas64.Triangular
	rest   []float64
	out    []float64
}

// A classInfo holds what one injector of a class is told: the lower triangle of C,
// S in place of B, both row-major, and A.
type classInfo struct {
	c [locals][locals]float64
	s [locals][]float64
	a []float64 // upper triangle, row-major
	z [locals]float64
}

// unknownFlow is the standard deviation of ln S before anything is measured: it
// only keeps an injector without a reading finite.
const unknownFlow = 100

func newInformation(f family, sizes []int) *information {
	n := f.shared()
	in := &information{sizes: sizes, prior: make([]float64, n), own: make([]float64, locals), rest: make([]float64, n)}
	for i, p := range f.sharedPrior() {
		in.prior[i] = precision(p)
	}
	for i, p := range f.localPrior() {
		in.own[i] = precision(p)
	}
	in.own[localFlow] += 1 / square(unknownFlow)
	in.block = make([]classInfo, len(sizes))
	for i := range in.block {
		in.all += sizes[i]
		in.block[i].a = make([]float64, n*n)
		for k := range in.block[i].s {
			in.block[i].s[k] = make([]float64, n)
		}
	}
	in.shared = blas64.Symmetric{N: n, Stride: n, Data: make([]float64, n*n), Uplo: blas.Upper}
	return in
}

func (in *information) reset() {
	for i := range in.block {
		b := &in.block[i]
		clear(b.a)
		for k := range b.s {
			clear(b.s[k])
			b.c[k] = [locals]float64{}
			b.c[k][k] = in.own[k]
		}
	}
}

// add tells every injector of a class what a reading with this row, weighed so, tells.
func (in *information) add(class int, row []float64, weight float64) {
	b := &in.block[class]
	local, shared := row[:locals], row[locals:]
	for i, x := range local {
		for j := range i + 1 {
			b.c[i][j] += weight * x * local[j]
		}
		floats.AddScaled(b.s[i], weight*x, shared)
	}
	n := len(shared)
	for i, x := range shared {
		floats.AddScaled(b.a[i*n+i:(i+1)*n], weight*x, shared[i:])
	}
}

// factorize eliminates the local parameters and factors what is left.
func (in *information) factorize() {
	n := in.shared.N
	clear(in.shared.Data)
	for i, p := range in.prior {
		in.shared.Data[i*n+i] = p
	}
	for i := range in.block {
		b := &in.block[i]
		b.eliminate()
		size := float64(in.sizes[i])
		floats.AddScaled(in.shared.Data, size, b.a)
		for _, s := range b.s {
			for j, x := range s {
				floats.AddScaled(in.shared.Data[j*n+j:(j+1)*n], -size*x, s[j:])
			}
		}
	}
	for i := range n { // rounding must not make it indefinite
		in.shared.Data[i*n+i] *= 1 + 1e-12
	}
	in.factor, _ = lapack64.Potrf(in.shared)
}

// eliminate turns C into L and B into S = L⁻¹B.
func (b *classInfo) eliminate() {
	for i := range locals {
		for j := range i + 1 {
			x := b.c[i][j]
			for k := range j {
				x -= b.c[i][k] * b.c[j][k]
			}
			if i == j {
				b.c[i][i] = math.Sqrt(x) // > 0: the prior is in it
			} else {
				b.c[i][j] = x / b.c[j][j]
			}
		}
		for k := range i {
			floats.AddScaled(b.s[i], -b.c[i][k], b.s[k])
		}
		floats.Scale(1/b.c[i][i], b.s[i])
	}
}

// forward solves Lz = v.
func (b *classInfo) forward(v []float64) {
	for i := range locals {
		x := v[i]
		for k := range i {
			x -= b.c[i][k] * b.z[k]
		}
		b.z[i] = x / b.c[i][i]
	}
}

// take adds n injectors whose local gradient is part of v to the sum of squares,
// and takes what the shared parameters have to answer for off the rest.
func (in *information) take(class int, v []float64, n, part float64) float64 {
	b := &in.block[class]
	b.forward(v)
	sum := 0.0
	for i, z := range b.z {
		sum += z * z
		floats.AddScaled(in.rest, -n*part*z, b.s[i])
	}
	return n * part * part * sum
}

// variance is g(JᵀJ + P)⁻¹gᵀ for the gradient of a need.
func (in *information) variance(n need) float64 {
	sum := 0.0
	if n.Kind == DeliveredBy {
		clear(in.rest)
		each := 1 / float64(in.all)
		sum += in.take(n.Class, n.local, 1, 1-each)
		for class, size := range in.sizes {
			others := float64(size)
			if class == n.Class {
				others--
			}
			sum += in.take(class, n.local, others, -each)
		}
	} else {
		copy(in.rest, n.shared)
		sum += in.take(n.Class, n.local, 1, 1)
	}
	x := blas64.Vector{N: len(in.rest), Inc: 1, Data: in.rest}
	blas64.Trsv(blas.Trans, in.factor, x)
	return sum + floats.Dot(in.rest, in.rest)
}
