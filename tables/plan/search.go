package plan

import (
	"math"

	"injtab/fit"
	"injtab/fit/unit"
)

// A search chooses points. It adds the point that brings most for its time until
// the time is used or the needs are met, then trades points one by one for better
// ones (an exchange algorithm, after Fedorov, Theory of Optimal Experiments, 1972,
// from memory; the criterion here is the worst need instead of the determinant).
type search struct {
	*field
	outlook *fit.Outlook
	needs   []need
	classes int
	start   choice
	now     choice
	counts  [][]int // scratch: runs by class
}

func newSearch(j *job, r rota) (*search, error) {
	s := &search{field: newField(j, j.spots(), len(r.main))}
	for _, x := range s.spots {
		j.filling = max(j.filling, x.volume())
	}
	sizes := []int{len(r.main[0].ids())}
	if left := j.Number - sizes[mapped]; left > 0 {
		sizes = append(sizes, left)
	}
	s.classes = len(sizes)
	var err error
	s.outlook, err = fit.NewOutlook(j.expect, j.setup, readings(j, s.spots), sizes, sizes[mapped])
	if err != nil {
		return nil, err
	}
	s.needs = j.needs(s.classes)
	for _, n := range s.needs {
		s.outlook.Need(n.Need)
	}
	s.start = s.core()
	s.now = s.start.clone()
	s.counts = [][]int{make([]int, len(s.spots)), nil}
	return s, nil
}

// score is how far the worst need is from what is aimed at: 1 is met. A high power
// of each stands in for the worst, so that the others count a little.
func (s *search) score(c choice) (smooth, worst float64) {
	const power = 8
	for k, n := range c[mappedOnly] {
		s.counts[mapped][k] = n + c[everyone][k]
	}
	s.counts[others] = c[everyone]
	for i, u := range s.outlook.Uncertainties(s.counts[:s.classes]) {
		x := s.needs[i].ratio(u, s.needs[i].gauges)
		worst = math.Max(worst, x)
		smooth += math.Pow(x, power)
	}
	return math.Pow(smooth, 1.0/power), worst
}

// A move runs some spots once more.
type move struct {
	scope int
	spots []int
}

func (m move) do(c choice, by int) {
	for _, k := range m.spots {
		c[m.scope][k] += by
	}
}

// moves are single points where a condition is already used and pairs of a short
// and a long pulse where it is not.
func (s *search) moves(c choice) []move {
	used := make([]bool, len(s.tally))
	for _, counts := range c {
		for k, n := range counts {
			used[s.at[k]] = used[s.at[k]] || n > 0
		}
	}
	var list []move
	for k, a := range s.spots {
		if !s.outlook.Usable(k) {
			continue
		}
		if s.Purpose != Match && (used[s.at[k]] || a.held(s.period)) {
			list = append(list, move{mappedOnly, []int{k}})
		}
		if s.at[k] == s.reference && (s.Purpose == Match || s.classes > 1) {
			list = append(list, move{everyone, []int{k}})
		}
		if !used[s.at[k]] && !a.held(s.period) {
			list = append(list, s.pairs(k)...)
		}
	}
	return list
}

// pairs joins the short pulse k with long ones at its condition.
func (s *search) pairs(k int) (list []move) {
	a := s.spots[k]
	if a.open > shortRegion {
		return nil
	}
	for i, b := range s.spots {
		if s.at[i] == s.at[k] && !b.held(s.period) && s.outlook.Usable(i) && b.open >= a.open+leastApart && b.open >= leastLong {
			list = append(list, move{mappedOnly, []int{k, i}})
		}
	}
	return list
}

// step makes the move that brings most for its time, within a budget; false where
// none brings anything.
func (s *search) step(budget unit.Time) bool {
	was, _ := s.score(s.now)
	used := s.time(s.now)
	var best move
	gain := 0.0
	for _, m := range s.moves(s.now) {
		m.do(s.now, 1)
		if t := s.time(s.now); t <= budget && s.sound(s.now) {
			is, _ := s.score(s.now)
			if g := math.Log(was/is) / float64(t-used); g > gain*(1+1e-9) {
				best, gain = m, g
			}
		}
		m.do(s.now, -1)
	}
	if gain <= 0 {
		return false
	}
	best.do(s.now, 1)
	return true
}

// grow adds points until the time is used, or, where the session may end when its
// needs are met, until they are.
func (s *search) grow(budget unit.Time, mayEnd bool) {
	for {
		if _, worst := s.score(s.now); mayEnd && worst <= 1 {
			return
		}
		if !s.step(budget) {
			return
		}
	}
}

// trade drops each point in turn and spends its time better, where that helps.
func (s *search) trade(budget unit.Time) {
	for scope := range scopes {
		for k := range s.spots {
			if s.now[scope][k] <= s.start[scope][k] {
				continue
			}
			before := s.now.clone()
			was, _ := s.score(before)
			s.now[scope][k]--
			if s.sound(s.now) {
				for s.step(budget) {
				}
			}
			if is, _ := s.score(s.now); is >= was*(1-1e-9) || !s.sound(s.now) {
				s.now = before
			}
		}
	}
}
