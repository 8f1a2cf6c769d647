package fit

import (
	"errors"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"injtab/fit/internal/lsq"
)

// An influence tells how an error in each reading moves what the fit finds.
//
// With J the Jacobian of the standardised residuals and P the priors' 1/SD², the
// fit's parameters move by (JᵀJ + P)⁻¹Jᵀδ for errors δ in units of the readings'
// standard uncertainties. What the fit believes of a reading's uncertainty and
// what it really is may differ, which is why errors are followed one by one.
type influence struct {
	shared, groups int
	rows           [][]float64 // by group: Jacobian, locals then shared, row-major
	chol           mat.Cholesky
}

func newInfluence(p lsq.Problem, s lsq.Start) (influence, error) {
	in := influence{shared: p.Shared, groups: len(p.Groups)}
	cols := p.Local + p.Shared
	h := mat.NewSymDense(p.Shared+p.Local*len(p.Groups), nil)
	for g, n := range p.Groups {
		j := make([]float64, n*cols)
		p.Eval(g, s.Local[g], s.Shared, make([]float64, n), j)
		in.rows = append(in.rows, j)
		for i := range n {
			in.add(h, g, j[i*cols:(i+1)*cols])
		}
		for i, prior := range p.LocalPrior {
			at := in.place(g, i)
			h.SetSym(at, at, h.At(at, at)+precision(prior))
		}
	}
	for i, prior := range p.SharedPrior {
		h.SetSym(i, i, h.At(i, i)+precision(prior))
	}
	if !in.chol.Factorize(h) {
		return influence{}, errors.New("the planned session leaves something open that the fit needs: plan more pulses, or more voltages")
	}
	return in, nil
}

func precision(p lsq.Prior) float64 {
	if p.SD > 0 {
		return 1 / (p.SD * p.SD)
	}
	return 0
}

// place is where column i of a group's row stands among all parameters: shared
// ones first.
func (in influence) place(g, i int) int {
	if i >= locals {
		return i - locals
	}
	return in.shared + g*locals + i
}

func (in influence) add(h *mat.SymDense, g int, row []float64) {
	for a := range row {
		for b := a; b < len(row); b++ {
			pa, pb := in.place(g, a), in.place(g, b)
			h.SetSym(pa, pb, h.At(pa, pb)+row[a]*row[b])
		}
	}
}

// of gives by how much the quantity with this gradient moves for an error of one
// standard uncertainty in each reading, by group.
func (in influence) of(gr gradient) [][]float64 {
	rhs := mat.NewVecDense(in.shared+in.groups*locals, nil)
	for i, x := range gr.shared {
		rhs.SetVec(i, x)
	}
	for k, g := range gr.local.Groups {
		for i, x := range gr.of(k) {
			rhs.SetVec(in.place(g, i), x)
		}
	}
	var x mat.VecDense
	_ = in.chol.SolveVecTo(&x, rhs) // its error warns of a large condition number, which newInfluence bears
	cols := locals + in.shared
	step := make([]float64, cols)
	out := make([][]float64, in.groups)
	for g, rows := range in.rows {
		for i := range step {
			step[i] = x.AtVec(in.place(g, i))
		}
		out[g] = make([]float64, len(rows)/cols)
		for i := range out[g] {
			out[g][i] = floats.Dot(rows[i*cols:(i+1)*cols], step)
		}
	}
	return out
}
