package lsq

// Isotonic returns the non-decreasing sequence nearest to y in weighted least
// squares, by pooling neighbours that are out of order (Ayer and others, Annals
// of Mathematical Statistics 26, 1955, from memory). w nil means equal weights;
// a value of weight zero follows its neighbours.
func Isotonic(y, w []float64) []float64 {
	checkLengths(len(y), y, w)
	type pool struct {
		mean, weight float64
		n            int
	}
	pools := make([]pool, 0, len(y))
	for i, v := range y {
		p := pool{v, weight(w, i), 1}
		for k := len(pools) - 1; k >= 0 && pools[k].mean >= p.mean; k-- {
			sum := pools[k].weight + p.weight
			if sum > 0 {
				p.mean += (pools[k].mean - p.mean) * pools[k].weight / sum
			}
			p.weight, p.n = sum, p.n+pools[k].n
			pools = pools[:k]
		}
		pools = append(pools, p)
	}
	out := make([]float64, 0, len(y))
	for _, p := range pools {
		for range p.n {
			out = append(out, p.mean)
		}
	}
	return out
}
