package bench

// How many injectors make up the family, where there are more.
const (
	manyMembers = 300
	manyVotes   = 25   // of them at a point, to do without the others
	mostVoted   = 0.75 // of an injector's points have so many votes, else it joins them
)

// choose parts the injectors that make up the family from the others, which are only
// held against it. Of many, an even choice tells as well what they have in common; those
// join it that were measured where it was not.
func (f *family) choose() (members, others []int) {
	all := len(f.gain)
	isMember := make([]bool, all)
	for k := range min(all, manyMembers) {
		isMember[(2*k+1)*all/(2*min(all, manyMembers))] = true
	}
	votes := make([]int, len(f.eff))
	for _, x := range f.c.pairs.list[:f.c.pairs.count()] {
		if isMember[x.injector] {
			votes[x.point]++
		}
	}
	for i := range f.gain {
		if isMember[i] || f.strange(i, votes) {
			members = append(members, i)
		} else {
			others = append(others, i)
		}
	}
	return members, others
}

// strange tells whether an injector was measured at points that have few votes.
func (f *family) strange(i int, votes []int) bool {
	first, end := f.c.pairs.ofInjector(i)
	voted := 0
	for _, x := range f.c.pairs.list[first:end] {
		if votes[x.point] >= manyVotes {
			voted++
		}
	}
	return float64(voted) < mostVoted*float64(end-first)
}

// pairsOf lists by point the pairs of some injectors.
func (f *family) pairsOf(injectors []int) [][]int32 {
	if len(injectors) == len(f.gain) {
		return f.c.pairs.at
	}
	at := make([][]int32, len(f.eff))
	for _, i := range injectors {
		for n, end := f.c.pairs.ofInjector(i); n < end; n++ {
			p := f.c.pairs.list[n].point
			at[p] = append(at[p], n)
		}
	}
	return at
}
