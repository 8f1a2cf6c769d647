package lsq

import (
	"bufio"
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The certified values come from the NIST Statistical Reference Datasets of
// the U.S. National Institute of Standards and Technology; see
// testdata/ref/nist/README.md.

const nistDir = "../../../testdata/ref/nist"

// certified holds what NIST gives for one data set.
type certified struct {
	coef, sd           []float64
	starts             [2][]float64
	residualSD, r2, ss float64
}

func readCertified(t *testing.T) map[string]*certified {
	t.Helper()
	f, err := os.Open(filepath.Join(nistDir, "CERTIFIED.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]*certified{}
	for _, row := range rows[1:] {
		c := all[row[0]]
		if c == nil {
			c = &certified{}
			all[row[0]] = c
		}
		c.add(t, row)
	}
	return all
}

func (c *certified) add(t *testing.T, row []string) {
	value := number(t, row[6])
	switch row[3] {
	case "residual_sd":
		c.residualSD = value
	case "r_squared":
		c.r2 = value
	case "residual_ss":
		c.ss = value
	default:
		c.coef = append(c.coef, value)
		c.sd = append(c.sd, number(t, row[7]))
		for i := range c.starts {
			if row[4+i] != "" {
				c.starts[i] = append(c.starts[i], number(t, row[4+i]))
			}
		}
	}
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// readData returns the columns of a data file, which begin in line 61: y first.
func readData(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join(nistDir, name+".dat"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var cols [][]float64
	scan := bufio.NewScanner(f)
	for line := 1; scan.Scan(); line++ {
		fields := strings.Fields(scan.Text())
		if line < 61 || len(fields) == 0 {
			continue
		}
		if cols == nil {
			cols = make([][]float64, len(fields))
		}
		for i, s := range fields {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatalf("%s line %d: %v", name, line, err)
			}
			cols[i] = append(cols[i], v)
		}
	}
	return cols
}

// worst is the largest relative error of got against want.
func worst(got, want []float64) float64 {
	e := 0.0
	for i, w := range want {
		e = math.Max(e, math.Abs(got[i]-w)/math.Abs(w))
	}
	return e
}

// digits is the log relative error: how many digits agree.
func digits(relative float64) float64 { return -math.Log10(math.Max(relative, 1e-16)) }

// powers returns the design whose columns are the powers of x from..to.
func powers(x []float64, from, to int) *mat.Dense {
	m := mat.NewDense(len(x), to-from+1, nil)
	for i, v := range x {
		for k := from; k <= to; k++ {
			m.Set(i, k-from, math.Pow(v, float64(k)))
		}
	}
	return m
}

func TestNISTLinear(t *testing.T) {
	all := readCertified(t)
	cases := []struct {
		name   string
		degree [2]int // powers of x in the model, or {0, 0} for all columns with a constant
		tol    float64
	}{
		{"Norris", [2]int{0, 1}, 1e-9},
		{"NoInt1", [2]int{1, 1}, 1e-9},
		{"Longley", [2]int{0, 0}, 1e-8},
		{"Filip", [2]int{0, 10}, 1e-6},
		{"Pontius", [2]int{0, 2}, 1e-9},
	}
	t.Logf("%-8s %12s %12s %12s", "digits", "coefficients", "std. errors", "residual SD")
	for _, c := range cases {
		data, want := readData(t, c.name), all[c.name]
		x := powers(data[1], c.degree[0], c.degree[1])
		if c.degree[1] == 0 {
			x = mat.NewDense(len(data[0]), len(data), nil)
			for i := range data[0] {
				x.Set(i, 0, 1)
				for k := 1; k < len(data); k++ {
					x.Set(i, k, data[k][i])
				}
			}
		}
		f, err := Linear(x, data[0], nil)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		coef, sd := worst(f.Coef, want.coef), worst(stdErrs(f), want.sd)
		scatter := math.Max(worst([]float64{f.Sigma}, []float64{want.residualSD}),
			worst([]float64{f.RSquared}, []float64{want.r2}))
		t.Logf("%-8s %12.1f %12.1f %12.1f", c.name, digits(coef), digits(sd), digits(scatter))
		if coef > c.tol || sd > c.tol || scatter > c.tol {
			t.Errorf("%s: relative errors %.1e, %.1e, %.1e, want below %.0e", c.name, coef, sd, scatter, c.tol)
		}
	}
}

func stdErrs(f Fit) []float64 {
	sd := make([]float64, len(f.Coef))
	for i := range sd {
		sd[i] = f.StdErr(i)
	}
	return sd
}

func TestNISTLine(t *testing.T) {
	data, want := readData(t, "Norris"), readCertified(t)["Norris"]
	f, err := Line(data[1], data[0], nil)
	if err != nil {
		t.Fatal(err)
	}
	for what, e := range map[string]float64{
		"coefficients": worst(f.Coef, want.coef),
		"std. errors":  worst(stdErrs(f), want.sd),
		"residual SD":  worst([]float64{f.Sigma}, []float64{want.residualSD}),
		"R squared":    worst([]float64{f.RSquared}, []float64{want.r2}),
	} {
		if e > 1e-9 {
			t.Errorf("%s: relative error %.1e", what, e)
		}
	}
}

// curve gives the value at x of a model and its derivatives by the parameters.
type curve func(x float64, b, d []float64) float64

// fitted makes a problem of unit weights of a curve and data.
func fitted(f curve, params int, y, x []float64) Problem {
	d := make([]float64, params)
	return Plain(len(y), params, func(b, r, j []float64) {
		for i := range y {
			r[i] = f(x[i], b, d) - y[i]
			if j != nil {
				copy(j[i*params:], d)
			}
		}
	})
}

// rational is a polynomial of the first p parameters over 1 + x times one of
// the rest.
func rational(p int) curve {
	return func(x float64, b, d []float64) float64 {
		num, den, pow := 0.0, 1.0, 1.0
		for k := range p {
			num += b[k] * pow
			d[k] = pow
			pow *= x
		}
		pow = x
		for k := p; k < len(b); k++ {
			den += b[k] * pow
			d[k] = pow
			pow *= x
		}
		for k := range b {
			if k < p {
				d[k] /= den
			} else {
				d[k] *= -num / (den * den)
			}
		}
		return num / den
	}
}

// approach is b1 (1 - exp(-b2 x)), of Misra1a and BoxBOD.
func approach(x float64, b, d []float64) float64 {
	e := math.Exp(-b[1] * x)
	d[0], d[1] = 1-e, b[0]*x*e
	return b[0] * (1 - e)
}

var nistCurves = map[string]curve{
	"Misra1a": approach,
	"BoxBOD":  approach,
	"Misra1b": func(x float64, b, d []float64) float64 {
		u := 1 + b[1]*x/2
		d[0], d[1] = 1-1/(u*u), b[0]*x/(u*u*u)
		return b[0] * (1 - 1/(u*u))
	},
	"Chwirut2": func(x float64, b, d []float64) float64 {
		den := b[1] + b[2]*x
		v := math.Exp(-b[0]*x) / den
		d[0], d[1], d[2] = -x*v, -v/den, -x*v/den
		return v
	},
	"DanWood": func(x float64, b, d []float64) float64 {
		v := math.Pow(x, b[1])
		d[0], d[1] = v, b[0]*v*math.Log(x)
		return b[0] * v
	},
	"Rat43": func(x float64, b, d []float64) float64 {
		e := math.Exp(b[1] - b[2]*x)
		v := b[0] / math.Pow(1+e, 1/b[3])
		d[0] = v / b[0]
		d[1] = -v * e / (1 + e) / b[3]
		d[2] = v * e / (1 + e) / b[3] * x
		d[3] = v * math.Log1p(e) / (b[3] * b[3])
		return v
	},
	"MGH09": func(x float64, b, d []float64) float64 {
		num, den := x*x+x*b[1], x*x+x*b[2]+b[3]
		v := b[0] * num / den
		d[0], d[1], d[2], d[3] = num/den, b[0]*x/den, -v*x/den, -v/den
		return v
	},
	"Gauss1": func(x float64, b, d []float64) float64 {
		e := math.Exp(-b[1] * x)
		d[0], d[1] = e, -b[0]*x*e
		v := b[0] * e
		for k := 2; k < 8; k += 3 {
			u := (x - b[k+1]) / b[k+2]
			p := math.Exp(-u * u)
			v += b[k] * p
			d[k], d[k+1], d[k+2] = p, b[k]*p*2*u/b[k+2], b[k]*p*2*u*u/b[k+2]
		}
		return v
	},
	"Thurber": rational(4),
	"Hahn1":   rational(4),
	"Kirby2":  rational(3),
	"Lanczos3": func(x float64, b, d []float64) float64 {
		v := 0.0
		for k := 0; k < 6; k += 2 {
			e := math.Exp(-b[k+1] * x)
			v += b[k] * e
			d[k], d[k+1] = e, -b[k]*x*e
		}
		return v
	},
}

func TestNISTNonlinear(t *testing.T) {
	all := readCertified(t)
	names := []string{"Misra1a", "Misra1b", "Chwirut2", "DanWood", "Rat43", "MGH09",
		"Gauss1", "Thurber", "Hahn1", "Kirby2", "Lanczos3", "BoxBOD"}
	t.Logf("%-9s %5s %12s %12s %8s %6s", "digits", "start", "coefficients", "std. errors", "RSS", "rounds")
	for _, name := range names {
		data, want := readData(t, name), all[name]
		p := fitted(nistCurves[name], len(want.coef), data[0], data[1])
		for i, start := range want.starts {
			s, err := Levenberg(p, Start{Shared: start}, Options{Tolerance: 1e-9})
			if err != nil {
				t.Logf("%-9s %5d %v", name, i+1, err)
				if name != "BoxBOD" || i != 0 || !errors.Is(err, ErrNotConverged) {
					t.Errorf("%s start %d: %v", name, i+1, err)
				}
				continue
			}
			coef, sd := worst(s.Shared, want.coef), worst(solutionErrs(&s), want.sd)
			rss := worst([]float64{s.RSS}, []float64{want.ss})
			t.Logf("%-9s %5d %12.1f %12.1f %8.1f %6d", name, i+1, digits(coef), digits(sd), digits(rss), s.Iterations)
			tol := 1e-5
			if name == "Lanczos3" {
				tol = 1e-4
			}
			if coef > 1e-6 || sd > tol || rss > tol {
				t.Errorf("%s start %d: relative errors %.1e, %.1e, %.1e", name, i+1, coef, sd, rss)
			}
		}
	}
}

// solutionErrs are the standard errors of the shared parameters, scaled by the scatter.
func solutionErrs(s *Solution) []float64 {
	sd := make([]float64, len(s.Shared))
	for i := range sd {
		g := make([]float64, len(sd))
		g[i] = 1
		sd[i] = s.Scale() * math.Sqrt(s.Variance(g, Locals{}))
	}
	return sd
}
