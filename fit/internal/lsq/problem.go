package lsq

import "fmt"

// Problem is a nonlinear least-squares problem of residuals in groups. Some
// parameters are shared by all groups, and each group has Local ones of its
// own: curve shapes shared by a family, say, and each member's own two numbers.
//
// The sum minimised is Σ w·r² over all residuals plus ((b-Mean)/SD)² for every
// prior. Cost is linear in the number of groups: see arrow.
type Problem struct {
	Shared, Local int   // numbers of shared parameters, and of local ones in each group; either may be 0
	Groups        []int // residuals in each group

	// Eval writes the residuals of group g, already divided by their standard
	// uncertainty, into r (Groups[g] long) and, when j is not nil, the Jacobian
	// dr/d(local..., shared...) into j, row-major, Groups[g] rows of
	// Local+Shared columns. j holds zeros on entry. A residual that is NaN or
	// Inf says that the parameters are out of the model's domain: such a step
	// is turned back. It is called for several groups at the same time.
	Eval func(g int, local, shared, r, j []float64)

	SharedMin, SharedMax []float64 // bounds, nil for none, ±Inf for no bound on one; a start beyond is moved to them
	LocalMin, LocalMax   []float64 // the same for the local parameters of every group

	SharedPrior, LocalPrior []Prior // nil for none

	Weights [][]float64 // nil, or per group a factor from 0 to 1 on each squared residual
}

// Prior is a belief about a parameter before the data: Mean give or take the
// standard deviation SD. SD 0 means none.
type Prior struct{ Mean, SD float64 }

// Start is where a fit begins. Local has one slice a group; it may be nil when
// Problem.Local is 0.
type Start struct {
	Shared []float64
	Local  [][]float64
}

// Plain is a problem of n residuals and p parameters without groups.
func Plain(n, p int, eval func(b, r, j []float64)) Problem {
	return Problem{
		Shared: p,
		Groups: []int{n},
		Eval:   func(_ int, _, shared, r, j []float64) { eval(shared, r, j) },
	}
}

// params is the number of parameters of all kinds.
func (p *Problem) params() int { return p.Shared + p.Local*len(p.Groups) }

// local returns where the local parameters of group g begin in a flat vector:
// shared parameters come first, then those of group after group.
func (p *Problem) local(g int) int { return p.Shared + g*p.Local }

// flat lays a start out as one vector, within the bounds.
func (p *Problem) flat(s Start) []float64 {
	b := make([]float64, p.params())
	copy(b, s.Shared)
	for g, l := range s.Local {
		copy(b[p.local(g):], l)
	}
	return b
}

// spreadOut lays per-kind values out as a flat vector, fill where they are nil.
func (p *Problem) spreadOut(shared, local []float64, fill float64) []float64 {
	b := make([]float64, p.params())
	for i := range b {
		b[i] = fill
	}
	copy(b, shared)
	for g := range p.Groups {
		copy(b[p.local(g):], local)
	}
	return b
}

// check panics where lengths do not fit together: a mistake of the caller.
func (p *Problem) check(s Start) {
	lengths := []struct {
		what string
		got  int
		want int
		skip bool
	}{
		{"shared start", len(s.Shared), p.Shared, false},
		{"local start", len(s.Local), len(p.Groups), p.Local == 0 && s.Local == nil},
		{"weights", len(p.Weights), len(p.Groups), p.Weights == nil},
		{"shared minimum", len(p.SharedMin), p.Shared, p.SharedMin == nil},
		{"shared maximum", len(p.SharedMax), p.Shared, p.SharedMax == nil},
		{"local minimum", len(p.LocalMin), p.Local, p.LocalMin == nil},
		{"local maximum", len(p.LocalMax), p.Local, p.LocalMax == nil},
		{"shared prior", len(p.SharedPrior), p.Shared, p.SharedPrior == nil},
		{"local prior", len(p.LocalPrior), p.Local, p.LocalPrior == nil},
	}
	for _, l := range lengths {
		if l.got != l.want && !l.skip {
			panic(fmt.Sprintf("lsq: %s: %d values, want %d", l.what, l.got, l.want))
		}
	}
	for g, l := range s.Local {
		if len(l) != p.Local {
			panic(fmt.Sprintf("lsq: local start of group %d: %d values, want %d", g, len(l), p.Local))
		}
	}
	for g, w := range p.Weights {
		if len(w) != p.Groups[g] {
			panic(fmt.Sprintf("lsq: weights of group %d: %d values, want %d", g, len(w), p.Groups[g]))
		}
	}
}

// priors counts those that say something.
func (p *Problem) priors() int {
	n := 0
	for _, b := range p.SharedPrior {
		n += b.count()
	}
	for _, b := range p.LocalPrior {
		n += b.count() * len(p.Groups)
	}
	return n
}

func (b Prior) count() int {
	if b.SD > 0 {
		return 1
	}
	return 0
}

// residual is (v-Mean)/SD, 0 where there is no prior.
func (b Prior) residual(v float64) float64 {
	if b.SD > 0 {
		return (v - b.Mean) / b.SD
	}
	return 0
}
