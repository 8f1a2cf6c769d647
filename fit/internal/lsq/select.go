package lsq

// fewValues are sorted at once, which takes less than parting them.
const fewValues = 12

// Nth puts the value that sorting would put at k there, none above it before it and none
// below it after it (Hoare 1961, from memory: FIND), and returns it.
func Nth(values []float64, k int) float64 {
	lo, hi := 0, len(values)-1
	for hi-lo >= fewValues {
		pivot := middleOfThree(values[lo], values[(lo+hi)/2], values[hi])
		i, j := lo, hi
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return values[k]
		}
	}
	insertionSort(values[lo : hi+1])
	return values[k]
}

func middleOfThree(a, b, c float64) float64 { return max(min(a, b), min(max(a, b), c)) }

// insertionSort lets each value sink as far as it must by min and max, which no processor has
// to guess the outcome of: of five values, as most medians are of, in two thirds of the time.
func insertionSort(values []float64) {
	for i := 1; i < len(values); i++ {
		x := values[i]
		for j := i; j > 0; j-- {
			before := values[j-1]
			values[j], x = max(before, x), min(before, x)
		}
		values[0] = x
	}
}
