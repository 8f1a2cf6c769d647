package fit

import (
	"math"

	"injtab/fit/internal/lsq"
)

// estimateNoise finds the relative parts of the uncertainty that make the
// standardised residuals of a robust fit of unit size: first the part common to
// all readings from the long pulses, then what the short ones need beside it.
func (s solution) estimateNoise() Noise {
	var long, short []residual
	for g, shots := range s.allShots() {
		for i, out := range shots {
			x := s.data.groups[g][i]
			if out.q <= 0 {
				continue
			}
			r := residual{miss: (x.q - out.q) / out.q, sd: x.sd / out.q, w: out.w}
			if out.w >= 2 {
				long = append(long, r)
			} else {
				short = append(short, r)
			}
		}
	}
	// Parameters soak up part of the scatter.
	soak := math.Sqrt(float64(s.N) / math.Max(1, float64(s.DoF)))
	n := Noise{}
	n.RelativePct = 100 * soak * solveScale(long, func(residual) float64 { return 1 }, 0)
	if len(long) < 6 {
		n.RelativePct = 0.3
	}
	n.RelativePct = math.Max(n.RelativePct, leastRelativePct)
	fade := func(r residual) float64 { return math.Exp(-(r.w - ShortAt) / ShortFade) }
	n.ShortPct = 100 * soak * solveScale(short, fade, n.RelativePct/100)
	return n
}

// A residual is relative to what the model delivers.
type residual struct{ miss, sd, w float64 }

// solveScale finds σ ≥ 0 such that the median of |miss|/√(sd² + base² + (σ·shape)²)
// is that of a unit normal, 0.6745; by bisection.
func solveScale(rs []residual, shape func(residual) float64, base float64) float64 {
	if len(rs) < 4 {
		return 0
	}
	known, shapes, ratio := make([]float64, len(rs)), make([]float64, len(rs)), make([]float64, len(rs))
	for i, r := range rs {
		known[i], shapes[i] = r.sd*r.sd+base*base, shape(r)*shape(r)
	}
	tooSmall := func(sigma float64) bool {
		for i, r := range rs {
			ratio[i] = r.miss * r.miss / (known[i] + sigma*sigma*shapes[i])
		}
		return lsq.Median(ratio) > normalMedian*normalMedian
	}
	lo, hi := 0.0, largestScale
	if !tooSmall(lo) {
		return 0
	}
	for hi-lo > scaleDigits {
		mid := (lo + hi) / 2
		if tooSmall(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

const (
	normalMedian = 0.6745 // of the absolute value of a unit normal
	largestScale = 0.3    // no bench scatters more
	scaleDigits  = 1e-9
)
