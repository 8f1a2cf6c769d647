// Package seat finds where the members of a matched set sit best in an engine:
// so that the banks get the same fuel on average, and cylinders that fire one
// after the other get nearly the same. All values are integers, millionths of
// ln(delivered), so that results are exact and the same on every machine.
package seat

import (
	"context"
	"math/rand/v2"
)

// MaxProven is the most seats for which the best seating is proven, so that a
// set of units fits 16 bits. With more, a good one and a bound are found.
const MaxProven = 16

// An Engine describes the seats 0, 1, … and what is known of them.
type Engine struct {
	Banks []int   // bank of each seat, from 0, none empty
	Order []int   // the seats in firing order; nil: who fires after whom doesn't count
	Need  []int32 // what each seat wants above the mean; nil: all the same
}

// A Seating tells which unit sits where, and what that is worth. The cost is
// the largest difference of two banks' means plus the largest difference of two
// neighbours in the firing order, each the worst over the columns: to each seat
// counts what its unit delivers less what the seat wants.
type Seating struct {
	Unit  []int // by seat
	Cost  Cost
	Lower Cost // no seating costs less; equal to Cost when proven
}

// Proven tells whether no seating is better.
func (s Seating) Proven() bool { return s.Lower >= s.Cost }

// A Cost is in millionths, multiplied by Engine.Scale so that means of banks
// stay whole.
type Cost int64

// Scale is the least common multiple of the numbers of seats in a bank.
func (e Engine) Scale() int64 {
	scale := int64(1)
	for _, n := range e.sizes() {
		scale = scale / gcd(scale, int64(n)) * int64(n)
	}
	return scale
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (e Engine) sizes() []int {
	var sizes []int
	for _, b := range e.Banks {
		for len(sizes) <= b {
			sizes = append(sizes, 0)
		}
		sizes[b]++
	}
	return sizes
}

func (e Engine) need(seat int) int32 {
	if e.Need == nil {
		return 0
	}
	return e.Need[seat]
}

// Cost is what it costs to seat the units so. x holds the units' values, column
// by column.
func (e Engine) Cost(x [][]int32, unit []int) Cost {
	scale := e.Scale()
	sizes := e.sizes()
	var banks, next int64
	for _, col := range x {
		sums := make([]int64, len(sizes))
		for seat, u := range unit {
			sums[e.Banks[seat]] += int64(col[u] - e.need(seat))
		}
		lo, hi := int64(1<<62), int64(-1<<62)
		for b, sum := range sums {
			mean := sum * (scale / int64(sizes[b]))
			lo, hi = min(lo, mean), max(hi, mean)
		}
		banks = max(banks, hi-lo)
		for at, seat := range e.Order {
			after := e.Order[(at+1)%len(e.Order)]
			next = max(next, abs(int64(col[unit[seat]]-e.need(seat))-int64(col[unit[after]]-e.need(after))))
		}
	}
	return Cost(banks + scale*next)
}

func abs(a int64) int64 {
	if a < 0 {
		return -a
	}
	return a
}

// Random is the mean cost of seating the units at random, over draws with a
// fixed seed.
func (e Engine) Random(x [][]int32) float64 {
	const draws = 1000
	r := rand.New(rand.NewPCG(1, 1))
	unit := make([]int, len(e.Banks))
	for i := range unit {
		unit[i] = i
	}
	var sum float64
	for range draws {
		r.Shuffle(len(unit), func(a, b int) { unit[a], unit[b] = unit[b], unit[a] })
		sum += float64(e.Cost(x, unit))
	}
	return sum / draws
}

// Best finds the seating of the least cost. It stops after budget units of work
// (about a nanosecond each) or when ctx is done, with a proven bound. It panics
// if there are no seats or x has not one value a seat.
func Best(ctx context.Context, e Engine, x [][]int32, budget int64) Seating {
	n := len(e.Banks)
	if n == 0 || len(x) == 0 || len(x[0]) != n {
		panic("seat: impossible number of seats")
	}
	s := newSearch(ctx, e, x, budget)
	s.exchange()
	s.prove()
	return Seating{Unit: s.unit, Cost: s.cost, Lower: s.lower}
}
