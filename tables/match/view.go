package match

import (
	"fmt"
	"slices"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// Notes are what the user must be told of the result.
func (r Result) Notes() []diag.Note { return r.notes }

// Report is the result as a document of its own.
func (r Result) Report() tables.Report {
	s := r.Section()
	s.Text = nil
	sheet := r.pile.c.Sheet()
	facts := []tables.Fact{{Name: "File", Value: sheet.File}}
	if sheet.SHA256 != "" {
		facts = append(facts, tables.Fact{Name: "SHA-256", Value: sheet.SHA256})
	}
	facts = append(facts,
		tables.Fact{Name: "Chosen from", Value: fmt.Sprintf("%s of %d", counted(len(r.pile.units), "injector"), len(r.pile.c.Injectors()))},
		tables.Fact{Name: "Compared at", Value: strings.Join(r.pile.names(r.pile.points), ", ")},
		tables.Fact{Name: "Objective", Value: r.Objective},
		tables.Fact{Name: "Proof", Value: r.proofText()},
	)
	return tables.Report{
		Title: "Matched sets", Answer: r.Answer(), Facts: facts, Sections: []tables.Section{s},
		Next: r.next(),
	}
}

// Section is the result as a part of a larger report.
func (r Result) Section() tables.Section {
	s := tables.Section{
		Name: "match", Heading: "Matched sets", Text: r.Answer(), Notes: r.notes,
		Tables: []tables.Table{r.setsTable(), aside(r.pointsTable())},
	}
	s.Tables[0].Aside = len(r.Sets) == 1 // the answer says all of it
	for _, set := range r.Sets {
		s.Tables = append(s.Tables, aside(r.membersTable(set)))
	}
	for _, optional := range []tables.Table{r.seatsTable(), r.sparesTable(), r.replacementsTable(), r.leftOutTable()} {
		if len(optional.Cells) > 0 {
			s.Tables = append(s.Tables, optional)
		}
	}
	s.Charts = r.charts()
	return s
}

// aside marks a table that the answer does not need.
func aside(t tables.Table) tables.Table {
	t.Aside = true
	return t
}

// Answer is the result in sentences, the sets first.
func (r Result) Answer() []string {
	var out []string
	if r.pile.Aim == MostSets && r.pile.Within > 0 {
		out = append(out, r.countSentence())
	}
	for _, s := range r.Sets {
		out = append(out, s.sentence())
	}
	if len(r.Sets) > 0 {
		out = append(out, r.proofSentence())
	}
	for _, s := range r.Sets {
		if s.NextBest != nil {
			out = append(out, s.NextBest.sentence(s))
		}
		if s.Seating != nil {
			out = append(out, r.seatingSentence(s))
		}
	}
	if len(r.Replacements) > 0 {
		best := r.Replacements[0]
		out = append(out, fmt.Sprintf("Injector %s takes the place of injector %s best: with it the set spreads %s.",
			best.Injector, r.pile.Replace, pct(best.SpreadPct)))
	}
	return out
}

func (s Set) sentence() string {
	text := fmt.Sprintf("%s: injectors %s. As read they spread %s at the worst, at %s, where injector %s delivers most and %s least",
		capital(s.Name), listed(s.Injectors), pct(s.SpreadPct), tables.PointName(s.Limit.point), s.Limit.Most, s.Limit.Least)
	if s.Interval != nil {
		text += "; " + s.Interval.sentence(s.SpreadPct)
	}
	if len(s.Spares) > 0 {
		var names []string
		for _, f := range s.Spares {
			names = append(names, fmt.Sprintf("%s (%s with it)", f.Injector, pct(f.SpreadPct)))
		}
		text += "; spare: " + listed(names)
	}
	return text + "."
}

// sentence says what the true spread is, beside the one that was read.
func (i Interval) sentence(read float64) string {
	text := fmt.Sprintf("freed of the noise of the readings, the spread is between %s and %s (95 %%)", pct(i.Lo), pct(i.Hi))
	switch {
	case read < i.Lo:
		text += ", more than was read, because a set is chosen for close readings, and close they are partly by chance"
	case read > i.Hi:
		text += ", less than was read, because the widest of many readings is wide partly by chance"
	}
	return text
}

func (r Result) proofText() string {
	if r.Proof == optimal {
		return "proven: nothing better is possible"
	}
	return fmt.Sprintf("not proven: nothing better than %s is possible", pct(r.BoundPct))
}

// proofSentence says what is proven, for the objective.
func (r Result) proofSentence() string {
	weighted := ""
	if r.pile.weighted() {
		weighted = " by the weighted differences"
	}
	if r.Proof != optimal {
		return fmt.Sprintf("This is the best that was found%s, not proven to be the best: no choice has a worst spread below %s (a gap of at most %.1f %%).", weighted, pct(r.BoundPct), r.GapPct)
	}
	switch {
	case len(r.Sets) == 1 && len(r.pile.units) == r.pile.Of:
		return fmt.Sprintf("There is no choice: no more than these %d can be used.", r.pile.Of)
	case len(r.Sets) == 1:
		kept := ""
		if len(r.pile.kept) > 0 {
			kept = ", with " + injectors(r.pile.ids(r.pile.kept)) + " among them,"
		}
		return fmt.Sprintf("Proven%s: no other %d of the %d injectors%s spread less at their worst point.", weighted, r.pile.Of, len(r.pile.units), kept)
	case r.Objective == BestFirst.String():
		return fmt.Sprintf("Proven%s: each set is the best of the injectors that those before it left. No way to take %d sets has a worst set below %s.", weighted, len(r.Sets), pct(r.BoundPct))
	}
	return fmt.Sprintf("Proven%s: in no other way of taking %d sets does the worst set spread less. The better sets were then improved by exchanges, as far as one exchange at a time goes.", weighted, len(r.Sets))
}

func (r Result) countSentence() string {
	have := counted(len(r.Sets), "set")
	within := pct(r.pile.Within.Pct())
	if r.MostSets == len(r.Sets) {
		return fmt.Sprintf("%s of %d within %s, proven to be the most there can be.", capital(have), r.pile.Of, within)
	}
	return fmt.Sprintf("%s of %d within %s were found; %d at the most are possible.", capital(have), r.pile.Of, within, r.MostSets)
}

func (n NextBest) sentence(s Set) string {
	var in, out []string
	for _, id := range n.Injectors {
		if !slices.Contains(s.Injectors, id) {
			in = append(in, id)
		}
	}
	for _, id := range s.Injectors {
		if !slices.Contains(n.Injectors, id) {
			out = append(out, id)
		}
	}
	text := fmt.Sprintf("The next best set has %s instead of %s and spreads %s", listed(in), listed(out), pct(n.SpreadPct))
	if n.Distinguishable {
		return text + "; the readings are good enough to tell that it is worse."
	}
	return text + fmt.Sprintf("; the readings can't tell the two apart (the chosen one is better with %.0f %% probability).", n.BetterPct)
}

// leastSeen is the difference in per cent that shows with two digits after the point.
const leastSeen = 0.005

func (r Result) seatingSentence(set Set) string {
	s := set.Seating
	var what []string
	if len(r.pile.Banks) > 1 {
		what = append(what, "banks")
	}
	if len(r.pile.FiringOrder) > 0 {
		what = append(what, "cylinders that fire one after the other")
	}
	if len(what) == 0 {
		return fmt.Sprintf("Seats of %s are by name: without banks or a firing order no seat is better than another.", set.Name)
	}
	together := ""
	if len(what) > 1 {
		together = " together"
	}
	if s.RandomPct < leastSeen {
		return fmt.Sprintf("Seats of %s are by name: the injectors are so alike that no seat is better than another.", set.Name)
	}
	text := fmt.Sprintf("Seats of %s: %s differ by %s%s; seated by name they would by %s, at random by %s",
		set.Name, listed(what), pct(s.UnevenPct), together, pct(s.AsNumberedPct), pct(s.RandomPct))
	if s.AsNumberedPct-s.UnevenPct < leastSeen {
		text = fmt.Sprintf("Seats of %s: %s differ by %s%s, no more than seated by name; at random they would by %s",
			set.Name, listed(what), pct(s.UnevenPct), together, pct(s.RandomPct))
	}
	if s.Proof == optimal {
		return text + ". Proven: no seating does better."
	}
	return text + fmt.Sprintf("; no seating does better than %s.", pct(s.BoundPct))
}

func (r Result) next() []string {
	var out []string
	if len(r.Sets) > 0 && !r.pile.seated() {
		out = append(out, "Give --firing-order and --banks to have the injectors seated.")
	}
	if r.Proof != optimal {
		out = append(out, "Give --time-limit, such as 1m, to let the search go on for a better set or the proof.")
	}
	for _, s := range r.Sets {
		if s.NextBest != nil && !s.NextBest.Distinguishable {
			out = append(out, "Measure the injectors of the set and of the next best again if the difference matters: repeats make the readings surer.")
		}
	}
	if len(r.Sets) > 0 {
		out = append(out, "Build the tables for the set with `injtab tables` and the same flags.")
	}
	return out
}
