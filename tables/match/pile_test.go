package match

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"injtab/fit/unit"
)

func reasonFor(r Result, id string) string {
	for _, l := range r.LeftOut {
		if l.Injector == id {
			return l.Reason
		}
	}
	return ""
}

// Injector 3 was not measured at 10 ms: that point is not compared, and the
// answer says what leaving it out would bring.
func TestPointNotMeasuredByAll(t *testing.T) {
	rows := slices.DeleteFunc(small(), func(row string) bool { return strings.HasPrefix(row, "3,10") })
	r := chosen(t, checked(t, rows), Options{Of: 2})
	if len(r.Points) != 1 || !near(r.Points[0].PulseMs, 2) {
		t.Fatalf("compared at %+v", r.Points)
	}
	if len(r.Unused) != 1 || r.Unused[0].Reason != "injector 3 was not measured there" {
		t.Errorf("not compared: %+v", r.Unused)
	}
	if !hasWarning(r, "Without injector 3 (--without 3) 1 point more would be compared.") {
		t.Errorf("warnings: %q", r.Warnings)
	}
	if all := chosen(t, checked(t, rows), Options{Of: 2, Without: []string{"3"}}); len(all.Points) != 2 {
		t.Errorf("without 3 compared at %+v", all.Points)
	}
}

// A reading with a wrong digit is not used, its point is not compared, and the
// answer says both; a repeat that is right keeps the point.
func TestReadingJudgedWrongIsNotUsed(t *testing.T) {
	var rows []string
	for i := range 6 {
		for _, pulse := range pulses {
			ml := 5 * (1 + 0.002*float64(i)) * (pulse - 0.8)
			if i == 2 && pulse == 8 {
				ml += 10
			}
			rows = append(rows, fmt.Sprintf("%d,%g,20,1000,%.1f", i+1, pulse, ml))
		}
	}
	r := chosen(t, checked(t, rows), Options{Of: 4})
	if len(r.Unused) != 1 || !near(r.Unused[0].PulseMs, 8) || r.Unused[0].Reason != "what was read of injector 3 there was judged wrong" {
		t.Errorf("not compared: %+v", r.Unused)
	}
	const told = "a reading that was judged wrong is not used: injector 3 at 8 ms 300 kPa 13.5 V."
	if !hasWarning(r, told) {
		t.Errorf("warnings: %q", r.Warnings)
	}
	again := append(rows, "3,8,20,1000,36.1", "3,8,20,1000,36.2")
	if r := chosen(t, checked(t, again), Options{Of: 4}); len(r.Unused) != 0 || !hasWarning(r, told) {
		t.Errorf("with repeats not compared: %+v, warnings %q", r.Unused, r.Warnings)
	}
	if r := chosen(t, checked(t, rows), Options{Of: 4, Without: []string{"3"}}); len(r.Unused) != 0 || hasWarning(r, "judged wrong") {
		t.Errorf("without it not compared: %+v, warnings %q", r.Unused, r.Warnings)
	}
}

// A pulse at which an injector delivered nothing is no point of comparison, a
// leak test never is, and held open is a point of its own.
func TestWhichPointsAreCompared(t *testing.T) {
	var rows []string
	for _, id := range []string{"1", "2", "3", "4"} {
		for _, reading := range []string{"2,20,1000,6.0", "4,20,1000,16.0", "10,20,1000,46.0", "20,20,1000,96.0", "0,60000,1,0"} {
			rows = append(rows, id+","+reading)
		}
	}
	for _, id := range []string{"1", "2", "3"} {
		rows = append(rows, id+",0.9,20,1000,0.5")
	}
	rows = append(rows, "4,0.9,20,1000,0")
	c := checked(t, rows)
	r := chosen(t, c, Options{Of: 2, Keep: []string{"4"}})
	var static, short int
	for _, p := range r.Points {
		if p.Static {
			static++
		}
		if p.PulseMs < 1 {
			short++
		}
	}
	if len(r.Points) != 4 || static != 1 || short != 0 {
		t.Errorf("compared at %+v", r.Points)
	}
	if len(r.Unused) != 1 || r.Unused[0].Reason != "injector 4 delivered nothing there" {
		t.Errorf("not compared: %+v", r.Unused)
	}
}

// With no point common to all, the injectors measured at the fewest points go.
func TestInjectorMeasuredElsewhere(t *testing.T) {
	rows := append(small(), "5,3,20,1000,11.0")
	r := chosen(t, checked(t, rows), Options{Of: 3})
	if !slices.Equal(r.Sets[0].Injectors, []string{"1", "2", "3"}) || len(r.Points) != 2 {
		t.Errorf("%+v at %+v", r.Sets[0], r.Points)
	}
	if why := reasonFor(r, "5"); !strings.Contains(why, "measured at too few points (1 of 3)") {
		t.Errorf("reason for 5: %q", why)
	}
	_, err := Choose(context.Background(), checked(t, rows), Options{Of: 3, Keep: []string{"1", "5"}})
	if err == nil || !strings.Contains(err.Error(), "no point at which all that are kept") {
		t.Errorf("keeping both: %v", err)
	}
}

func TestJudgedInjectorsAreLeftOutUnlessKept(t *testing.T) {
	rows := append(small(), "5,2,20,1000,0", "5,10,20,1000,0")
	c := checked(t, rows)
	r := chosen(t, c, Options{Of: 3})
	if why := reasonFor(r, "5"); !strings.HasPrefix(why, "dead") {
		t.Errorf("reason for the dead one: %q", why)
	}
	if _, err := Choose(context.Background(), c, Options{Of: 3, Keep: []string{"5"}}); err == nil {
		t.Error("a dead injector was kept")
	}
}

func TestKeepAndWithout(t *testing.T) {
	c := checked(t, small())
	kept := chosen(t, c, Options{Of: 3, Keep: []string{"4"}})
	if !slices.Contains(kept.Sets[0].Injectors, "4") {
		t.Errorf("4 is kept: %v", kept.Sets[0].Injectors)
	}
	without := chosen(t, c, Options{Of: 3, Without: []string{"2"}})
	if slices.Contains(without.Sets[0].Injectors, "2") || reasonFor(without, "2") != "left out by hand (--without)" {
		t.Errorf("2 is out: %+v", without)
	}
}

// At 10 ms alone 2 and 3 are equal, whatever they do at 2 ms; with a large
// weight on 2 ms the pair nearest there wins.
func TestPointsAndWeights(t *testing.T) {
	rows := []string{
		"1,2,20,1000,6.00", "1,10,20,1000,46.0",
		"2,2,20,1000,6.00", "2,10,20,1000,47.0",
		"3,2,20,1000,6.30", "3,10,20,1000,46.0",
	}
	c := checked(t, rows)
	pick := func(o Options) []string {
		o.Of, o.Keep = 2, []string{"1"}
		return chosen(t, c, o).Sets[0].Injectors
	}
	parse := func(text string) []Weight {
		w, err := ParseWeights(text)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	if got := pick(Options{}); !slices.Equal(got, []string{"1", "2"}) {
		t.Errorf("unweighted: %v", got)
	}
	if got := pick(Options{Points: []Where{{Pulse: ms(10)}}}); !slices.Equal(got, []string{"1", "3"}) {
		t.Errorf("at 10 ms: %v", got)
	}
	if got := pick(Options{Weights: parse("10ms=3, 2ms=1")}); !slices.Equal(got, []string{"1", "3"}) {
		t.Errorf("10 ms counting three times: %v", got)
	}
	if got := pick(Options{Weights: parse("2ms=0")}); !slices.Equal(got, []string{"1", "3"}) {
		t.Errorf("2 ms not counting: %v", got)
	}
	a, b := chosen(t, c, Options{Of: 2, Weights: parse("2ms=1,10ms=2")}), chosen(t, c, Options{Of: 2, Weights: parse("2ms=7,10ms=14")})
	if !slices.Equal(a.Sets[0].Injectors, b.Sets[0].Injectors) || !near(a.BoundPct, b.BoundPct) {
		t.Errorf("the same weights in another scale: %+v, %+v", a, b)
	}
	if w := b.Sets[0].ByPoint; !near(w[0].Weight, 0.5) || !near(w[1].Weight, 1) {
		t.Errorf("weights 7 and 14 are 0.5 and 1 of the largest, got %+v", w)
	}
	if a.BoundPct > a.Sets[0].SpreadPct {
		t.Errorf("bound %v above the spread %v", a.BoundPct, a.Sets[0].SpreadPct)
	}
}

func TestParsePoints(t *testing.T) {
	got, err := ParsePoints("2ms, 900us 3bar 13.5V, open, 300kPa open")
	want := []Where{
		{Pulse: ms(2)}, {Pulse: unit.Times.In(900, "us"), Pressure: unit.Pressures.In(3, "bar"), Voltage: 13.5},
		{Open: true}, {Pressure: unit.KPa(300), Open: true},
	}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("%v, %v", got, err)
	}
	for _, bad := range []string{"", "2", "2ms,,3ms", "2 ms", "fast", "2ms=1"} {
		if got, err := ParsePoints(bad); err == nil {
			t.Errorf("%q was read as %v", bad, got)
		}
	}
	for _, bad := range []string{"", "2ms", "2ms=", "2ms=-1", "=2", "2ms=inf", "2ms=1=2"} {
		if got, err := ParseWeights(bad); err == nil {
			t.Errorf("%q was read as %v", bad, got)
		}
	}
	for text, want := range map[string]string{
		"2ms, ":       "a point is missing",
		"0ms":         "its pulse must be above zero",
		"2ms -3bar":   "its pressure must be above zero",
		"2ms 3ms":     "is a second pulse of one point",
		"2ms 12V 13V": "is a second voltage of one point",
		"2":           "does not name a point",
	} {
		if got, err := ParsePoints(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v; want a sentence with %q", text, got, err, want)
		}
	}
}
