package pick

// MostGroups finds as many disjoint groups of k rows as possible whose worst
// span is at most limit, with all rows of keep among them, and of the divisions
// into that many one with the best worst group. There may be none. Most of the
// result is the proven bound on the number.
func MostGroups(m Matrix, k int, limit int32, keep, leave []int, meter *Meter) Division {
	d := Division{Most: (m.n - len(leave)) / k}
	v := newDivider(m, k, limit, keep, leave, meter)
	if len(keep) == 0 {
		d.Groups = inTurnWithin(m, k, limit, leave, meter)
	}
	if v != nil {
		d.Most = len(v.rows) / k
		if count(v.kept) < len(keep) {
			return Division{} // a kept row fits no group
		}
		v.addGroups(&d, limit, len(keep))
	}
	if len(d.Groups) == 0 {
		return d
	}
	d.Worst = worstOf(m, d.Groups)
	if v != nil {
		d.Lower = v.lowest(len(d.Groups))
		v.bisect(m, &d)
	}
	polish(m, d.Groups, keep, leave, meter)
	sortGroups(m, d.Groups)
	return d
}

// inTurnWithin takes the best group of the rows left until it is beyond limit.
func inTurnWithin(m Matrix, k int, limit int32, leave []int, meter *Meter) (groups [][]int) {
	used := append([]int(nil), leave...)
	for len(used)+k <= m.n {
		g := Best(m, k, nil, used, meter)
		if g.Worst > limit {
			break
		}
		groups = append(groups, g.Rows)
		used = append(used, g.Rows...)
	}
	return groups
}

// addGroups looks for divisions into more groups, in rounds of growing effort,
// until one more is proven impossible. So few groups as kept rows may be
// impossible while more are possible, each with kept rows of its own.
func (v *divider) addGroups(d *Division, limit int32, kept int) {
	for effort := int64(firstEffort); !v.m.Stopped(); effort *= effortGrowth {
		decided := true
		for groups := len(d.Groups) + 1; groups <= d.Most && !v.m.Stopped(); groups++ {
			part := v.m.share(effort)
			found, no := v.decide(limit, groups, part)
			v.m.join(part)
			switch {
			case found != nil:
				d.Groups = found
			case no && groups >= kept:
				d.Most = groups - 1
			case !no:
				decided = false
			}
		}
		if decided {
			d.Most = len(d.Groups)
			return
		}
	}
}
