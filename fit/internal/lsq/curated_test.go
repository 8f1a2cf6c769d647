package lsq

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// The published values and their sources are in testdata/ref/curated: see the
// README there for which are as quoted in other works.

const curatedDir = "../../../testdata/ref/curated"

func readCSV(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(curatedDir, name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// columns reads the named columns of a data set as numbers.
func columns(t testing.TB, name string, want ...string) [][]float64 {
	t.Helper()
	rows := readCSV(t, name)
	cols := make([][]float64, len(want))
	for k, w := range want {
		at := -1
		for i, h := range rows[0] {
			if h == w {
				at = i
			}
		}
		if at < 0 {
			t.Fatalf("%s has no column %s", name, w)
		}
		for _, row := range rows[1:] {
			cols[k] = append(cols[k], number(t, row[at]))
		}
	}
	return cols
}

// published compares values with those of expected.csv; all values that are
// expected of the data set must have been asked for by the end of the test.
type published struct {
	t    *testing.T
	data string
	rows map[string][]string
}

func expect(t *testing.T, data string) *published {
	t.Helper()
	p := &published{t, data, map[string][]string{}}
	for _, row := range readCSV(t, "expected")[1:] {
		if row[0] == data {
			p.rows[row[1]] = row[2:]
		}
	}
	if len(p.rows) == 0 {
		t.Fatalf("nothing is expected of %s", data)
	}
	t.Cleanup(func() {
		for what := range p.rows {
			t.Errorf("%s: %s was not compared", data, what)
		}
	})
	return p
}

func (p *published) check(what string, got float64) {
	p.t.Helper()
	row, ok := p.rows[what]
	if !ok {
		p.t.Errorf("%s: %s is not expected", p.data, what)
		return
	}
	delete(p.rows, what)
	want := number(p.t, row[0])
	kind, figure, _ := strings.Cut(row[1], "=")
	tol := number(p.t, figure)
	if kind == "rel" {
		tol *= math.Abs(want)
	}
	if !(math.Abs(got-want) <= tol) {
		p.t.Errorf("%s: %s = %.10g, want %v (%s, %s)", p.data, what, got, want, row[1], row[2])
	}
}

// line compares the common quantities of a line; skip names those not published.
func (p *published) line(f Fit) {
	p.t.Helper()
	for what, got := range map[string]float64{
		"intercept": f.Coef[0], "slope": f.Coef[1],
		"u(intercept)": f.StdErr(0), "u(slope)": f.StdErr(1),
		"cov": f.Cov.At(0, 1), "chi-squared": f.RSS, "rss": f.RSS, "residual SD": f.Sigma,
		"correlation": f.Cov.At(0, 1) / f.StdErr(0) / f.StdErr(1),
	} {
		if _, ok := p.rows[what]; ok {
			p.check(what, got)
		}
	}
}

func mustLine(t testing.TB, x, y, w []float64) Fit {
	t.Helper()
	f, err := Line(x, y, w)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func inverse(t testing.TB, f Fit, y, uy float64) (x, u float64) {
	t.Helper()
	x, u, err := f.Inverse(y, uy)
	if err != nil {
		t.Fatal(err)
	}
	return x, u
}

func TestThermometerCalibration(t *testing.T) {
	c := columns(t, "thermometer-calibration", "t_c", "correction_c")
	x := make([]float64, len(c[0]))
	for i, v := range c[0] {
		x[i] = v - 20
	}
	f := mustLine(t, x, c[1], nil)
	want := expect(t, "thermometer-calibration")
	want.line(f)
	value, u := f.Predict([]float64{1, 30 - 20})
	want.check("value at 30 C", value)
	want.check("u(value at 30 C)", u)

	// More digits of JCGM 100:2008, H.3, recomputed from its table.
	near(t, "intercept", f.Coef[0], -0.17120379013135, 1e-12)
	near(t, "u(intercept)", f.StdErr(0), 0.00287759783516, 1e-12)
	near(t, "slope", f.Coef[1], 0.00218269773989, 1e-12)
	near(t, "u(slope)", f.StdErr(1), 0.00066793877323, 1e-12)
	near(t, "value at 30", value, -0.14937681, 1e-8)

	// H.3.6: an uncertainty of 0.005 common to all readings moves the whole line
	// and does not average down; it adds to the intercept alone.
	near(t, "u(intercept) with a common 0.005", math.Hypot(f.StdErr(0), 0.005), 0.00576893138, 1e-9)
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, tol)
	}
}

// An exact line, and the same with residuals of alternating sign; values
// computed by hand from the normal equations of nine evenly spaced points.
func TestLineByHand(t *testing.T) {
	x := []float64{2, 3, 4, 5, 6, 7, 8, 9, 10}
	off := []float64{.05, -.05, .05, -.05, 0, .05, -.05, .05, -.05}
	exact, y := make([]float64, 9), make([]float64, 9)
	for i, v := range x {
		exact[i] = 3 * (v - 0.8)
		y[i] = exact[i] + off[i]
	}
	f := mustLine(t, x, exact, nil)
	at, _, err := f.XIntercept()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", f.Coef[1], 3, 1e-12)
	near(t, "intercept", f.Coef[0], -2.4, 1e-12)
	near(t, "x where y = 0", at, 0.8, 1e-12)

	f = mustLine(t, x, y, nil)
	at, u, err := f.XIntercept()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", f.Coef[1], 2.9966667, 1e-7)
	near(t, "intercept", f.Coef[0], -2.38, 1e-9)
	near(t, "scatter", f.Sigma, 0.05255383, 1e-8)
	near(t, "u(slope)", f.StdErr(1), 0.00678467, 1e-8)
	near(t, "u(intercept)", f.StdErr(0), 0.04431728, 1e-8)
	near(t, "covariance", f.Cov.At(0, 1), -2.7619048e-4, 1e-11)
	near(t, "correlation", f.Cov.At(0, 1)/f.StdErr(0)/f.StdErr(1), -0.91855865, 1e-8)
	near(t, "x where y = 0", at, 0.79421580, 1e-8)
	near(t, "u(x where y = 0)", u, 0.01315636, 1e-8)
}

func TestLineKnownUncertainty(t *testing.T) {
	for name, uy := range map[string]float64{"line-equal-weights": 0.5, "line-unequal-weights": 1} {
		c := columns(t, name, "x", "y", "u_y")
		w := make([]float64, len(c[2]))
		for i, u := range c[2] {
			w[i] = 1 / (u * u)
		}
		f := mustLine(t, c[0], c[1], w).Known()
		want := expect(t, name)
		want.line(f)
		x, u := inverse(t, f, 10.5, uy)
		want.check("x at 10.5", x)
		want.check("u(x at 10.5)", u)
		if name == "line-equal-weights" {
			value, _ := f.Predict([]float64{1, 3.5})
			want.check("value at 3.5", value)
		}
	}
}

func TestLineUnknownUncertainty(t *testing.T) {
	c := columns(t, "line-unknown-sigma", "x", "y")
	f := mustLine(t, c[0], c[1], nil)
	want := expect(t, "line-unknown-sigma")
	want.line(f)
	x, u := inverse(t, f, 10.5, f.Sigma)
	want.check("x at 10.5", x)
	want.check("u(x at 10.5)", u)
	value, u := f.Predict([]float64{1, 3.5})
	want.check("value at 3.5", value)
	want.check("u(value at 3.5)", u)
}

func TestInverseCalibration(t *testing.T) {
	c := columns(t, "calibration-inverse-1", "x", "y")
	f := mustLine(t, c[0], c[1], nil)
	want := expect(t, "calibration-inverse-1")
	for _, at := range []struct {
		name string
		y, n float64
	}{{"15 of 1", 15, 1}, {"90 of 1", 90, 1}, {"90 of 5", 90, 5}} {
		x, u := inverse(t, f, at.y, f.Sigma/math.Sqrt(at.n))
		want.check("x at "+at.name, x)
		want.check("u(x at "+at.name+")", u)
		want.check("half-width 95 at "+at.name, u*f.Coverage(0.95))
	}

	c = columns(t, "calibration-inverse-2", "x", "y")
	f = mustLine(t, c[0], c[1], nil)
	want = expect(t, "calibration-inverse-2")
	want.line(f)
	x, u := inverse(t, f, 3500, f.Sigma)
	want.check("x at 3500", x)
	want.check("u(x at 3500)", u)
	want.check("half-width 99 at 3500", u*f.Coverage(0.99))

	c = columns(t, "calibration-inverse-3", "x", "y")
	f = mustLine(t, c[0], c[1], nil)
	want = expect(t, "calibration-inverse-3")
	want.line(f)
	x, u = inverse(t, f, (0.0712+0.0716)/2, f.Sigma/math.Sqrt2)
	want.check("x at mean of 2", x)
	want.check("u(x at mean of 2)", u)
}

func TestInverseCalibrationWeighted(t *testing.T) {
	c := columns(t, "calibration-inverse-weighted", "x", "y")
	levels := []float64{0, 10, 20, 30, 40, 50}
	y := make([]float64, len(levels))
	for i, x := range c[0] {
		y[int(x/10)] += c[1][i] / 5
	}
	f := mustLine(t, levels, y, []float64{1.984, 1.417, 1.262, 0.372, 0.199, 0.109})
	want := expect(t, "calibration-inverse-weighted")
	want.line(f)
	for name, at := range map[string][2]float64{"15.0": {15, 1.67}, "90.0": {90, 0.145}} {
		x, u := inverse(t, f, at[0], f.Sigma/math.Sqrt(at[1]))
		want.check("x at "+name, x)
		want.check("u(x at "+name+")", u)
		want.check("half-width 95 at "+name, u*f.Coverage(0.95))
	}
}

// linearProblem is y ≈ x·b as a nonlinear problem.
func linearProblem(x *mat.Dense, y []float64) Problem {
	n, p := x.Dims()
	return Plain(n, p, func(b, r, j []float64) {
		for i := range n {
			r[i] = mat.Dot(x.RowView(i), mat.NewVecDense(p, b)) - y[i]
			if j != nil {
				copy(j[i*p:], x.RawRowView(i))
			}
		}
	})
}

// freely reweights to the end with Tukey's loss alone and a scale of its own.
var freely = RobustOptions{Options: Options{Tolerance: 1e-10}, CauchyRounds: -1, MaxRounds: 200, FreeScale: true, Settled: 1e-9}

func TestRobustFourVariables(t *testing.T) {
	c := columns(t, "robust-4var", "y", "x1", "x2", "x3")
	x := mat.NewDense(len(c[0]), 4, nil)
	for i := range c[0] {
		x.SetRow(i, []float64{1, c[1][i], c[2][i], c[3][i]})
	}
	f, err := Linear(x, c[0], nil)
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := Robust(linearProblem(x, c[0]), Start{Shared: f.Coef}, freely)
	if err != nil {
		t.Fatal(err)
	}
	want := expect(t, "robust-4var")
	want.check("residual SD", f.Sigma)
	for i, name := range []string{"b0", "b1", "b2", "b3"} {
		want.check(name, f.Coef[i])
		want.check("tukey "+name, s.Shared[i])
	}
	want.check("tukey scale", robustScale(s.Residuals, nil, true))
}

// The years 1964 to 1969 were counted in another unit, and 1970 in part.
func TestRobustLine(t *testing.T) {
	c := columns(t, "robust-line", "x", "y")
	want := expect(t, "robust-line")
	want.line(mustLine(t, c[0], c[1], nil))
	a, b := TheilSen(c[0], c[1])
	want.check("median intercept", a)
	want.check("median slope", b)

	a, b = RepeatedMedian(c[0], c[1])
	s, weights, err := Robust(linearProblem(powers(c[0], 0, 1), c[1]), Start{Shared: []float64{a, b}}, freely)
	if err != nil {
		t.Fatal(err)
	}
	want.check("tukey intercept", s.Shared[0])
	want.check("tukey slope", s.Shared[1])
	want.check("tukey scale", robustScale(s.Residuals, nil, true))
	for i, w := range weights[0] {
		if gross := c[0][i] >= 64 && c[0][i] <= 70; gross != (w < 0.1) {
			t.Errorf("year %v has the weight %.3f", c[0][i], w)
		}
	}
}

func TestIsotonicPublished(t *testing.T) {
	rows := readCSV(t, "isotonic-cases")
	y, w, want := map[string][]float64{}, map[string][]float64{}, map[string][]float64{}
	for _, row := range rows[1:] {
		y[row[0]] = append(y[row[0]], number(t, row[2]))
		w[row[0]] = append(w[row[0]], number(t, row[3]))
		want[row[0]] = append(want[row[0]], number(t, row[4]))
	}
	for name := range y {
		for i, v := range Isotonic(y[name], w[name]) {
			if math.Abs(v-want[name][i]) > 1e-12 {
				t.Errorf("case %s, value %d: %v, want %v", name, i+1, v, want[name][i])
			}
		}
	}
}

// The monotone cubic of gonum is the one the published values are for, so
// nothing of our own is needed.
func TestMonotoneCubicOfGonum(t *testing.T) {
	rows := readCSV(t, "monotone-9pt")
	var x, y, y5 []float64
	for _, row := range rows[1:] {
		x = append(x, number(t, row[0]))
		y = append(y, number(t, row[1]))
		y5 = append(y5, number(t, row[2]))
	}
	var six, five interp.FritschButland
	if err := errors.Join(six.Fit(x, y), five.Fit(x, y5)); err != nil {
		t.Fatal(err)
	}
	want := expect(t, "monotone-9pt")
	for what := range want.rows {
		rest, isFive := strings.CutPrefix(what, "5-digit ")
		at := number(t, strings.TrimSuffix(strings.TrimPrefix(rest, "f("), ")"))
		if isFive {
			want.check(what, five.Predict(at))
		} else {
			want.check(what, six.Predict(at))
		}
	}
}

// Two-sided 95 % and 99 % points of Student's distribution, as printed in any
// statistical table, for example NIST/SEMATECH e-Handbook 1.3.6.7.2 (from memory).
func TestStudent(t *testing.T) {
	for _, c := range []struct {
		level float64
		dof   int
		want  float64
	}{{0.95, 1, 12.706}, {0.95, 4, 2.776}, {0.95, 10, 2.228}, {0.99, 8, 3.355}, {0.95, 100000, 1.960}} {
		if got := T(c.level, c.dof); !scalar.EqualWithinAbs(got, c.want, 6e-4) {
			t.Errorf("T(%v, %d) = %v, want %v", c.level, c.dof, got, c.want)
		}
	}
	if !math.IsInf(T(0.95, 0), 1) {
		t.Error("no degrees of freedom must leave the interval open")
	}
}

// Line against gonum's own straight line, for weights in general.
func TestLineAgainstGonum(t *testing.T) {
	x := []float64{1, 2, 4, 7, 11}
	y := []float64{3.1, 4.2, 8.3, 14.9, 22}
	w := []float64{1, 4, 2, 0.5, 3}
	a, b := stat.LinearRegression(x, y, w, false)
	f := mustLine(t, x, y, w)
	near(t, "intercept", f.Coef[0], a, 1e-12)
	near(t, "slope", f.Coef[1], b, 1e-12)
}
