package bench_test

import (
	"bytes"
	"fmt"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// session reads and checks a simulated session.
func session(t testing.TB, s sim.Session) bench.Checked {
	t.Helper()
	sheet, err := bench.Read(bytes.NewReader(s.CSV), "sim.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// plans are the kinds of sessions that sound injectors are checked in.
func plans() map[string]sim.Plan {
	hobby := sim.HobbyPlan()
	hobby.Junk = 0
	return map[string]sim.Plan{"mapped": sim.MappedPlan(4), "sparse": sim.SparsePlan(), "hobby": hobby}
}

// reasons are those of the injectors that are not sound.
func reasons(c bench.Checked) map[string][]string {
	all := map[string][]string{}
	for _, inj := range c.Injectors() {
		if inj.Verdict != bench.Sound {
			all[inj.ID] = inj.Reasons
		}
	}
	return all
}

const simSeeds = 5 // of each design and plan: 75 sessions in all

// TestCleanSessions: of sessions without a slip, with sound injectors of five simulated
// designs, at most one in twenty has a warning or a verdict.
func TestCleanSessions(t *testing.T) {
	sessions, troubled := 0, 0
	for name, plan := range plans() {
		for _, d := range sim.Designs() {
			for seed := range uint64(simSeeds) {
				c := session(t, plan.Run(d, 100+seed))
				sessions++
				if len(c.Notes()) > 0 || len(c.Sound()) < len(c.Injectors()) {
					troubled++
					t.Logf("%s %s %d: %v %v", name, d.Name, seed, c.Notes(), reasons(c))
				}
			}
		}
	}
	if 20*troubled > sessions {
		t.Errorf("%d of %d clean sessions have a warning", troubled, sessions)
	}
}

// TestGrossReadings: of readings that were written down wrong by 8 % and 8 standard
// uncertainties or more, at least 95 % are found where injectors are well open (0.8 ms
// effective or more; below, injectors of one family differ by as much), and hardly any
// other reading is taken for wrong.
func TestGrossReadings(t *testing.T) {
	const wellOpen = 0.8 // ms
	planted, found, others, taken := 0, 0, 0, 0
	short, shortFound := 0, 0
	for _, plan := range plans() {
		plan.Gross = 0.03
		for _, d := range sim.Designs() {
			for seed := range uint64(simSeeds) {
				s := plan.Run(d, 200+seed)
				c := session(t, s)
				at := map[diag.Place]int{}
				for k, r := range c.Readings().All() {
					at[c.Sheet().At(r)] = k
				}
				for _, row := range s.Rows {
					k := at[diag.Place{File: c.Sheet().File, Line: row.Line, Column: row.Column}]
					hit := c.Wrong(k) != ""
					if row.Gross == sim.Right {
						others++
						if hit {
							taken++
						}
						continue
					}
					off := max(row.Volume-row.Meant, row.Meant-row.Volume)
					if off < 0.08*row.Meant || off < 8*c.Weight(k).U() {
						continue
					}
					static := s.Units[row.Injector].StaticFlow(row.Point.Pressure)
					well := float64(row.Meant)/row.Shots/float64(static)*1e3 >= wellOpen
					switch {
					case well && hit:
						planted, found = planted+1, found+1
					case well:
						planted++
					case hit:
						short, shortFound = short+1, shortFound+1
					default:
						short++
					}
				}
			}
		}
	}
	t.Logf("well open %d of %d found; shorter pulses %d of %d; %d of %d others taken for wrong", found, planted, shortFound, short, taken, others)
	if float64(found) < 0.95*float64(planted) {
		t.Errorf("%d of %d gross readings found, want 95 %%", found, planted)
	}
	if 1000*taken > others {
		t.Errorf("%d of %d right readings taken for wrong", taken, others)
	}
}

// TestJunkVerdicts: a quarter of the injectors is junk. No sound one may be called bad,
// dead ones are all found and most of the outliers. Erratic ones with six readings are
// called so or, where by chance one reading alone is off, have that reading named. Leaks
// of a few ml/min without a leak test, and needles that stick a little, can't be told
// from the spread of a family.
func TestJunkVerdicts(t *testing.T) {
	got := map[string]int{}
	for _, d := range sim.Designs() {
		for seed := range uint64(simSeeds) {
			s := sim.Hobby(d, 300+seed)
			c := session(t, s)
			for _, inj := range c.Injectors() {
				got[fmt.Sprintf("%v is %v", s.Troubles[inj.ID], inj.Verdict)]++
				if s.Troubles[inj.ID] == sim.Erratic && (inj.Verdict == bench.Erratic || hasWrong(c, inj.ID)) {
					got["erratic is told"]++
				}
				if s.Troubles[inj.ID] == sim.None && inj.Verdict != bench.Sound {
					t.Logf("%s %d: sound injector %s is %v: %v", d.Name, seed, inj.ID, inj.Verdict, inj.Reasons)
				}
			}
		}
	}
	t.Log(got)
	all := 5 * simSeeds
	if n := got["dead is dead"]; n != all {
		t.Errorf("%d of %d dead ones found", n, all)
	}
	if n := all*15 - got["none is sound"]; n > all*15/100 {
		t.Errorf("%d sound ones called bad", n)
	}
	if n := got["outlier is outlier"]; 10*n < 7*all {
		t.Errorf("%d of %d outliers found", n, all)
	}
	if n := got["erratic is told"]; 10*n < 9*all {
		t.Errorf("%d of %d erratic ones told of", n, all)
	}
}

func hasWrong(c bench.Checked, id string) bool {
	for k, r := range c.Readings().All() {
		if r.Injector == id && c.Wrong(k) != "" {
			return true
		}
	}
	return false
}

// TestDemoVerdicts: the session of the demonstration, which has leak tests.
func TestDemoVerdicts(t *testing.T) {
	s := sim.Demo()
	c := session(t, s)
	for _, inj := range c.Injectors() {
		want := map[sim.Trouble]bench.Verdict{sim.None: bench.Sound, sim.Dead: bench.Dead, sim.Leaking: bench.Leaking, sim.Outlier: bench.Outlier, sim.Erratic: bench.Erratic}[s.Troubles[inj.ID]]
		if inj.Verdict != want {
			t.Errorf("injector %s is %v, want %v: %v", inj.ID, inj.Verdict, want, inj.Reasons)
		}
	}
	gross := s.GrossRows()
	if len(c.Notes()) != len(gross) {
		t.Errorf("notes %v, want one for each of %d slips", c.Notes(), len(gross))
	}
	for k, n := range c.Notes() {
		if n.Code != "wrong-reading" || n.Place.Line != gross[k].Line {
			t.Errorf("note %v, want line %d", n, gross[k].Line)
		}
	}
}

func BenchmarkCheckMapped(b *testing.B) {
	s := sim.MappedPlan(4)
	s.Gross = unit.Ratio(0.03)
	run := s.Run(sim.ByName("A"), 1)
	sheet, err := bench.Read(bytes.NewReader(run.CSV), "sim.csv")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := bench.Check(sheet); err != nil {
			b.Fatal(err)
		}
	}
}
