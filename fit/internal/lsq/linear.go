package lsq

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Linear fits y ≈ x·b by weighted least squares with Householder QR on columns
// scaled to like size. x is n × p, y has n values, w has n weights (relative
// 1/variance, ≥ 0) or is nil for equal weights. Errors: ErrTooFew when fewer
// than p observations have weight, RankError naming the first column that is a
// combination of those before it, ErrNotFinite.
func Linear(x *mat.Dense, y, w []float64) (Fit, error) {
	n, p := x.Dims()
	checkLengths(n, y, w)
	used, err := usable(y, w)
	if err != nil {
		return Fit{}, err
	}
	if used < p {
		return Fit{}, fmt.Errorf("%w: %d readings, %d unknowns", ErrTooFew, used, p)
	}
	a, scale, err := weightedColumns(x, y, w)
	if err != nil {
		return Fit{}, err
	}
	eliminate(a, n, n, p+1, p)
	r := upper(a, n, p)
	if err := fullRank(r, p, n); err != nil {
		return Fit{}, err
	}
	f := Fit{Coef: make([]float64, p), N: used, DoF: used - p}
	copy(f.Coef, a[p*n:p*n+p])
	backSubstitute(r, p, f.Coef)
	floats.Mul(f.Coef, scale)
	f.Unscaled = covariance(r, p, scale)
	f.residuals(x, y, w)
	f.finish()
	return f, nil
}

// checkLengths panics unless y and w (when given) have n values.
func checkLengths(n int, y, w []float64) {
	if len(y) != n || (w != nil && len(w) != n) {
		panic(fmt.Sprintf("lsq: %d rows, %d values, %d weights", n, len(y), len(w)))
	}
}

// usable counts the observations of weight above zero.
func usable(y, w []float64) (int, error) {
	used := len(y)
	if w == nil && finite(floats.Sum(y)) { // then each of them is; a fifth of the time of a line
		return used, nil
	}
	for i, v := range y {
		if !finite(v) {
			return 0, fmt.Errorf("%w: value %d is %v", ErrNotFinite, i+1, v)
		}
		if w == nil {
			continue
		}
		if !finite(w[i]) || w[i] < 0 {
			return 0, fmt.Errorf("%w, or is negative: weight %d is %v", ErrNotFinite, i+1, w[i])
		}
		if w[i] <= 0 {
			used--
		}
	}
	return used, nil
}

// weightedColumns returns [X s | y] column-major, rows multiplied by √w, and
// the column scales s: powers of two, so that scaling rounds nothing.
func weightedColumns(x *mat.Dense, y, w []float64) (a, scale []float64, err error) {
	n, p := x.Dims()
	a = make([]float64, n*(p+1))
	scale = make([]float64, p)
	for j := range p {
		col := a[j*n : (j+1)*n]
		mat.Col(col, j, x)
		weigh(col, w)
		norm := floats.Norm(col, 2)
		if !finite(norm) {
			return nil, nil, fmt.Errorf("%w: in column %d", ErrNotFinite, j+1)
		}
		scale[j] = 1
		if norm > 0 {
			_, exp := math.Frexp(norm)
			scale[j] = math.Ldexp(1, -exp)
			floats.Scale(scale[j], col)
		}
	}
	copy(a[p*n:], y)
	weigh(a[p*n:], w)
	return a, scale, nil
}

func weigh(v, w []float64) {
	for i := range w {
		v[i] *= math.Sqrt(w[i])
	}
}

// upper copies the p × p triangle out of column-major a, row-major.
func upper(a []float64, stride, p int) []float64 {
	r := make([]float64, p*p)
	for i := range p {
		for j := i; j < p; j++ {
			r[i*p+j] = a[j*stride+i]
		}
	}
	return r
}

// fullRank compares what is left of each column with the column as it was.
func fullRank(r []float64, p, n int) error {
	tol := rankTolerance(n)
	for j := range p {
		norm := 0.0
		for i := range j + 1 {
			norm = math.Hypot(norm, r[i*p+j])
		}
		if !(math.Abs(r[j*p+j]) > tol*norm) {
			return &RankError{Column: j, Group: -1}
		}
	}
	return nil
}

// rankTolerance is the share of a column that rounding alone can leave over
// after n rows have been reflected.
func rankTolerance(n int) float64 { return 4 * epsilon * math.Sqrt(float64(n)) }

// backSubstitute solves R b = b in place for upper triangular R (p × p, row-major).
func backSubstitute(r []float64, p int, b []float64) {
	for i := p - 1; i >= 0; i-- {
		row := r[i*p : (i+1)*p]
		b[i] = (b[i] - floats.Dot(row[i+1:], b[i+1:])) / row[i]
	}
}

// covariance returns S (RᵀR)⁻¹ S for diagonal S.
func covariance(r []float64, p int, scale []float64) *mat.SymDense {
	inv := make([]float64, p*p) // row i is column i of R⁻¹
	for j := range p {
		col := inv[j*p : (j+1)*p]
		col[j] = 1
		backSubstitute(r, p, col)
	}
	cov := mat.NewSymDense(p, nil)
	for i := range p {
		for j := i; j < p; j++ {
			sum := 0.0
			for k := range p {
				sum += inv[k*p+i] * inv[k*p+j]
			}
			cov.SetSym(i, j, sum*scale[i]*scale[j])
		}
	}
	return cov
}

// residuals fills Residuals, RSS and RSquared from the data themselves.
func (f *Fit) residuals(x *mat.Dense, y, w []float64) {
	f.Residuals = make([]float64, len(y))
	for i := range y {
		f.Residuals[i] = y[i] - floats.Dot(x.RawRowView(i), f.Coef)
	}
	f.goodness(y, w, hasConstant(x))
}

// hasConstant reports whether a column of x is the same throughout and not zero.
func hasConstant(x *mat.Dense) bool {
	n, p := x.Dims()
	for j := range p {
		first, same := x.At(0, j), true
		for i := 1; i < n && same; i++ {
			same = math.Abs(x.At(i, j)-first) <= 0
		}
		if same && math.Abs(first) > 0 {
			return true
		}
	}
	return false
}
