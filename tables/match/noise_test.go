package match

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// noisyRows writes readings with the noise that Check assumes: 0.3 % technique
// and the division.
func (b box) noisyRows(r *rand.Rand) []string {
	var rows []string
	for i, id := range b.ids {
		for _, t := range pulses {
			ml := 1000 * b.perShot(i, t) * (1 + 0.003*r.NormFloat64())
			rows = append(rows, fmt.Sprintf("%s,%g,20,1000,%.1f", id, t, ml))
		}
	}
	return rows
}

// trueSpread is the worst spread without reading noise.
func (b box) trueSpread(ids []string) (worst float64) {
	for _, t := range pulses {
		var list []float64
		for i, id := range b.ids {
			if slices.Contains(ids, id) {
				list = append(list, b.perShot(i, t))
			}
		}
		worst = max(worst, 100*(slices.Max(list)/slices.Min(list)-1))
	}
	return worst
}

// TestIntervalHoldsTheTrueSpread: of chosen sets, whose readings lie closer than
// the truth, the interval holds the true spread about as often as it says.
func TestIntervalHoldsTheTrueSpread(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	boxes, held, below := 0, 0, 0
	for range 120 {
		b := newBox(r, 16)
		c := checked(t, b.noisyRows(r))
		if len(c.Sound()) < 10 {
			continue
		}
		set := chosen(t, c, Options{Of: 4}).Sets[0]
		truth := b.trueSpread(set.Injectors)
		boxes++
		if truth > set.SpreadPct {
			below++
		}
		if set.Interval.Lo <= truth && truth <= set.Interval.Hi {
			held++
		}
	}
	t.Logf("%d boxes: the true spread is in the interval in %d, and above the spread as read in %d", boxes, held, below)
	if boxes < 60 || float64(held) < 0.9*float64(boxes) {
		t.Errorf("the 95 %% interval holds the true spread in %d of %d", held, boxes)
	}
}

// A set far better than any other is told apart from the next best; one of many
// alike is not.
func TestNextBestIsToldApart(t *testing.T) {
	var rows []string
	for i, factor := range []float64{1, 1.001, 1.002, 1.10, 1.21, 1.33} {
		for _, p := range []float64{2, 10} {
			rows = append(rows, fmt.Sprintf("%d,%g,20,1000,%.2f", i+1, p, 5*(p-0.8)*factor))
		}
	}
	c := checked(t, rows)
	far := chosen(t, c, Options{Of: 3}).Sets[0]
	if !slices.Equal(far.Injectors, []string{"1", "2", "3"}) {
		t.Fatalf("chose %v", far.Injectors)
	}
	if far.NextBest == nil || !far.NextBest.Distinguishable {
		t.Errorf("next best: %+v", far.NextBest)
	}
	r := rand.New(rand.NewPCG(43, 44))
	alike := chosen(t, checked(t, newBox(r, 20).noisyRows(r)), Options{Of: 8}).Sets[0]
	if alike.NextBest == nil || alike.NextBest.Distinguishable || alike.NextBest.SpreadPct < alike.SpreadPct {
		t.Errorf("next best of many alike: %+v", alike.NextBest)
	}
}

// With one point the distribution of the truth is the textbook one of a normal
// mean read with noise: precisions add, and the mean is weighted by them.
func TestTruthGivenReadingsAtOnePoint(t *testing.T) {
	rows := [][]float64{{1}, {1.1}, {0.9}, {1.3}, {0.7}, {1.0}}
	const u = 0.05
	tr := &truth{mean: []float64{1}, noise: []float64{u}}
	tr.cov = tr.signal(rows)
	variance := 0.04 // (0.1² + 0.1² + 0.3² + 0.3²) / 5
	tau2 := variance - u*u
	got := tr.given([]float64{1.3}, []float64{2 * u})
	wantMean := 1 + 0.3*tau2/(tau2+4*u*u)
	wantSD := math.Sqrt(1 / (1/tau2 + 1/(4*u*u)))
	if !near(got.mean[0], wantMean) || !near(math.Abs(got.root.At(0, 0)), wantSD) {
		t.Errorf("mean %v, sd %v; want %v, %v", got.mean[0], got.root.At(0, 0), wantMean, wantSD)
	}
}

// With many points, the mean is the linear prediction P(P+N)⁻¹ of the readings,
// here worked out by that formula itself, and its covariance P − P(P+N)⁻¹P.
func TestTruthGivenReadingsAtManyPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(45, 46))
	const d = 5
	tr := &truth{mean: make([]float64, d), noise: []float64{1, 2, 1, 0.5, 1}}
	var rows [][]float64
	for range 12 {
		row := make([]float64, d)
		gain := r.NormFloat64() * 6
		for j := range row {
			row[j] = gain + r.NormFloat64()*3
		}
		rows = append(rows, row)
	}
	tr.cov = tr.signal(rows)
	noise := []float64{2, 1, 1, 1, 3}
	got := tr.given(rows[0], noise)

	p := mat.NewDense(d, d, nil)
	total := mat.NewDense(d, d, nil)
	for a := range d {
		for b := range d {
			p.Set(a, b, tr.cov.At(a, b)*tr.noise[a]*tr.noise[b])
			total.Set(a, b, p.At(a, b))
		}
		total.Set(a, a, total.At(a, a)+noise[a]*noise[a])
	}
	var gain, mean, lost, cov, gotCov mat.Dense
	if err := gain.Solve(total, p); err != nil { // (P+N)⁻¹P, transposed gain
		t.Fatal(err)
	}
	mean.Mul(gain.T(), mat.NewVecDense(d, rows[0]))
	lost.Mul(p, &gain)
	cov.Sub(p, &lost)
	gotCov.Mul(got.root, got.root.T())
	if !mat.EqualApprox(&cov, &gotCov, 1e-8) {
		t.Errorf("covariance\n%v\nwant\n%v", mat.Formatted(&gotCov), mat.Formatted(&cov))
	}
	if !mat.EqualApprox(&mean, mat.NewVecDense(d, got.mean), 1e-8) {
		t.Errorf("mean %v, want %v", got.mean, mat.Formatted(&mean))
	}
}
