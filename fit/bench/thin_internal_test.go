package bench

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"injtab/fit/diag"
)

// repeated is a session of injectors that took turns of some conditions over and over, by
// rows of cells under a header, with a slip of ten millilitres in some lines.
type repeated struct {
	rows  [][]string
	slips []int // lines
}

var manyConditions = []struct{ pulse, period, pressure, voltage float64 }{
	{2, 20, 300, 13.5}, {4, 20, 300, 13.5}, {8, 20, 300, 13.5}, {4, 20, 400, 13.5}, {4, 20, 300, 10}, {0, 60000, 300, 13.5},
}

// roundsOf takes rounds of them: long or wide, in millilitres or grams.
func roundsOf(rounds int, wide, weighed bool) repeated {
	const injectors = 6
	r := rand.New(rand.NewPCG(3, 1))
	header := []string{"injector", "run", "pulse_ms", "period_ms", "shots", "pressure_kpa", "voltage_v", "volume_ml"}
	if weighed {
		header[7] = "mass_g"
	}
	if wide {
		header = header[1:7]
		for i := range injectors {
			header = append(header, fmt.Sprint("L", i+1))
		}
	}
	f := repeated{rows: [][]string{header}}
	run := 0
	for range rounds {
		for _, at := range manyConditions {
			run++
			row := []string{fmt.Sprint(run), fmt.Sprint(at.pulse), fmt.Sprint(at.period), "1000",
				fmt.Sprintf("%.1f", at.pressure+r.Float64()-0.5), fmt.Sprintf("%.2f", at.voltage+0.02*r.Float64())}
			if at.pulse == 0 {
				row[3] = "1"
			}
			for i := range injectors {
				amount := 5 * (1 + 0.01*float64(i)) * math.Sqrt(at.pressure/300) * (at.pulse - 0.7 - 0.1*(13.5-at.voltage)) * (1 + 0.002*r.NormFloat64())
				switch {
				case at.pulse == 0:
					amount = 0.02 * float64(i)
				case r.IntN(200) == 0:
					amount += 10
					f.slips = append(f.slips, len(f.rows)+1)
				}
				text := fmt.Sprintf("%.2f", amount)
				if wide {
					row = append(row, text)
				} else {
					f.rows = append(f.rows, append([]string{fmt.Sprint("L", i+1)}, append(slices.Clone(row), text)...))
				}
			}
			if wide {
				f.rows = append(f.rows, row)
			}
		}
	}
	return f
}

func (f repeated) csv() []byte {
	var text bytes.Buffer
	text.WriteString("# fluid = n-heptane\n")
	for _, row := range f.rows {
		text.WriteString(strings.Join(row, ",") + "\n")
	}
	return text.Bytes()
}

func (f repeated) workbook(t *testing.T) []byte {
	t.Helper()
	book := excelize.NewFile()
	defer book.Close()
	for i, row := range f.rows {
		if err := book.SetSheetRow("Sheet1", fmt.Sprint("A", i+2), &row); err != nil {
			t.Fatal(err)
		}
	}
	if err := book.SetCellStr("Sheet1", "A1", "# fluid = n-heptane"); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := book.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// judged reads and checks a file of which so many readings are held.
func judged(t *testing.T, in io.Reader, held int) (Checked, []diag.Note) {
	t.Helper()
	s, err := readHolding(in, "b.csv", MaxBytes, held)
	if err != nil {
		t.Fatal(err)
	}
	c, notes, err := Check(s)
	if err != nil {
		t.Fatal(err)
	}
	return c, notes
}

// slipsIn are the lines of what was told to be wrong.
func slipsIn(notes []diag.Note) []int {
	lines := map[int]bool{}
	for _, n := range notes {
		if n.Code == "wrong-reading" && n.Place.Line > 0 {
			lines[n.Place.Line] = true
		}
	}
	return slices.Sorted(maps.Keys(lines))
}

// piped is an input that is no file.
type piped struct{ io.Reader }

// TestThinned: of a file with more readings than are held each counts all the same, and each
// slip is told, whatever form the file has.
func TestThinned(t *testing.T) {
	long := roundsOf(150, false, false)
	forms := map[string]struct {
		of   repeated
		open func(repeated) io.Reader
	}{
		"long":     {long, func(f repeated) io.Reader { return bytes.NewReader(f.csv()) }},
		"piped":    {long, func(f repeated) io.Reader { return piped{bytes.NewReader(f.csv())} }},
		"wide":     {roundsOf(150, true, false), func(f repeated) io.Reader { return bytes.NewReader(f.csv()) }},
		"weighed":  {roundsOf(150, false, true), func(f repeated) io.Reader { return bytes.NewReader(f.csv()) }},
		"workbook": {long, func(f repeated) io.Reader { return bytes.NewReader(f.workbook(t)) }},
	}
	for name, form := range forms {
		t.Run(name, func(t *testing.T) {
			all, _ := judged(t, form.open(form.of), mostHeld)
			part, notes := judged(t, form.open(form.of), 1000)
			held, rest := part.Readings().Len(), part.Readings().Rest()
			if held+rest != all.Readings().Len() || held > 1000 || held < 250 || all.Readings().Rest() != 0 {
				t.Fatalf("%d readings held and %d more, of %d", held, rest, all.Readings().Len())
			}
			slips := slices.Compact(slices.Clone(form.of.slips))
			for k := range slips {
				slips[k]++ // below the line that names the fluid
			}
			if got := slipsIn(notes); !slices.Equal(got, slips) {
				t.Errorf("slips in the lines %v, want %v", got, slips)
			}
			if !slices.ContainsFunc(notes, func(n diag.Note) bool { return n.Code == "many-repeats" }) {
				t.Errorf("nothing tells of the repeats: %v", notes)
			}
			alike(t, all, part)
		})
	}
}

// alike compares means and how many readings each injector has.
func alike(t *testing.T, all, part Checked) {
	t.Helper()
	if len(all.Points()) != len(part.Points()) || len(all.Injectors()) != len(part.Injectors()) {
		t.Fatalf("%d points and %d injectors, want %d and %d", len(part.Points()), len(part.Injectors()), len(all.Points()), len(all.Injectors()))
	}
	for i, inj := range all.Injectors() {
		if inj.Verdict != part.Injectors()[i].Verdict {
			t.Errorf("injector %s is %v, want %v", inj.ID, part.Injectors()[i].Verdict, inj.Verdict)
		}
		if got, want := part.ReadingsOf(i), all.ReadingsOf(i); got != want {
			t.Errorf("injector %s has %d readings, want %d", inj.ID, got, want)
		}
		for p, at := range all.Points() {
			want, got := all.Mean(i, p), part.Mean(i, placeIn(part, at))
			if got.N != want.N {
				t.Fatalf("injector %s at %s: the mean of %d readings, want %d", inj.ID, at, got.N, want.N)
			}
			if far := math.Abs(float64(got.PerShot - want.PerShot)); far > 1e-9*math.Abs(float64(want.PerShot)) {
				t.Errorf("injector %s at %s: %v a shot, want %v", inj.ID, at, got.PerShot, want.PerShot)
			}
			if ratio := float64(got.U / want.U); want.U > 0 && (ratio < 0.8 || ratio > 1.25) {
				t.Errorf("injector %s at %s: ± %v, want %v", inj.ID, at, got.U, want.U)
			}
		}
	}
}

// placeIn is where a point is among those of a session whose medians differ a little.
func placeIn(c Checked, at Point) int {
	return slices.IndexFunc(c.Points(), func(p Point) bool {
		return timesOf(p) == timesOf(at) && math.Abs(float64(p.Pressure/at.Pressure)-1) < samePressure && math.Abs((p.Voltage-at.Voltage).V()) < sameVoltage
	})
}

// TestRest: what is not held of a pair is all but what is held.
func TestRest(t *testing.T) {
	text := roundsOf(100, false, false).csv()
	all, _ := judged(t, bytes.NewReader(text), mostHeld)
	part, _ := judged(t, bytes.NewReader(text), 500)
	for i, inj := range all.Injectors() {
		for p, at := range all.Points() {
			q := placeIn(part, at)
			whole, held, rest := totals(all, i, p), totals(part, i, q), part.Rest(i, q)
			more := float64(rest.N)
			restored := [5]float64{more, more * float64(rest.PerShot), square(more * float64(rest.Read)), more * float64(rest.Pressure), more * float64(rest.Voltage)}
			for n, name := range []string{"readings", "a shot", "variance", "pressure", "voltage"} {
				if got, want := held[n]+restored[n], whole[n]; math.Abs(got-want) > 1e-9*math.Abs(want) {
					t.Errorf("injector %s at %s: %s %v held and %v more, want %v", inj.ID, at, name, held[n], restored[n], want)
				}
			}
		}
	}
}

// totals are sums over the readings of an injector at a point that delivered something and are
// not wrong: how many, of a shot, variance of what was read, pressure, voltage.
func totals(c Checked, i, p int) (sum [5]float64) {
	for q, list := range c.Repeats(i) {
		for _, k := range list {
			r, scale := c.Readings().At(int(k)), c.perShotScale(int(k))
			if q != p || c.Wrong(int(k)) != "" || r.Volume <= 0 {
				continue
			}
			w := c.Weight(int(k))
			for n, x := range []float64{1, float64(r.Volume) * scale, square(scale) * float64(w.Division*w.Division+w.Count*w.Count), float64(r.Pressure), float64(r.Voltage)} {
				sum[n] += x
			}
		}
	}
	return sum
}

// TestThinnedByGroups: however many readings come, what is held goes by the injectors and
// conditions, of which none is lost, and the choice is the same on any number of processors.
func TestThinnedByGroups(t *testing.T) {
	const room = 500
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, rounds := range []int{40, 400, 1200} {
		text := string(roundsOf(rounds, false, false).csv())
		var chosen []Reading
		for _, processors := range []int{1, 3} {
			runtime.GOMAXPROCS(processors)
			var th *thinning
			p, src := begin(t, text)
			p.collect = func() (c collector) {
				c, th = thinned(room)
				return c
			}
			if !p.readParts(src, 4000) {
				t.Fatal("not read in parts")
			}
			gone := th.finish(&p.readings)
			list := p.finish().Readings.List()
			if n := rounds * len(manyConditions) * 6; len(list)+gone != n {
				t.Fatalf("%d readings held and %d let go, of %d", len(list), gone, n)
			}
			if len(list) > room {
				t.Errorf("of %d rounds %d readings are held, with room for %d", rounds, len(list), room)
			}
			groups := map[string]int{}
			for _, r := range list {
				groups[fmt.Sprint(r.Injector, r.Pulse, math.Round(r.Pressure.KPa()/10), math.Round(r.Voltage.V()))]++
			}
			if len(groups) != len(manyConditions)*6 {
				t.Errorf("of %d rounds there are readings of %d groups, want %d", rounds, len(groups), len(manyConditions)*6)
			}
			if chosen == nil {
				chosen = list
			}
			if diff := cmp.Diff(chosen, list); diff != "" {
				t.Errorf("on %d processors: %s", processors, diff)
			}
		}
	}
}

// TestKeepsSomeOfEveryGroup: where groups alone take more than the room, it grows with them,
// and each keeps some.
func TestKeepsSomeOfEveryGroup(t *testing.T) {
	f := roundsOf(300, false, false)
	for k, row := range f.rows[1:] { // sixty injectors more, each but some turns
		if k%3 == 0 {
			row[0] = fmt.Sprint("M", k/3%60)
		}
	}
	whole, err := readHolding(bytes.NewReader(f.csv()), "b.csv", MaxBytes, mostHeld)
	if err != nil {
		t.Fatal(err)
	}
	part, err := readHolding(bytes.NewReader(f.csv()), "b.csv", MaxBytes, 64)
	if err != nil {
		t.Fatal(err)
	}
	groups := func(s Sheet) map[string]int {
		n := map[string]int{}
		for _, r := range s.Readings.All() {
			n[fmt.Sprint(r.Injector, r.Pulse, math.Round(r.Pressure.KPa()/20), math.Round(r.Voltage.V()))]++
		}
		return n
	}
	all, kept := groups(whole), groups(part)
	if part.Readings.Len() > 3*leastKept*len(all) {
		t.Errorf("%d readings of %d groups are held", part.Readings.Len(), len(all))
	}
	if part.Readings.Len() < leastKept/2*len(all) {
		t.Errorf("no more than %d readings of %d groups are held", part.Readings.Len(), len(all))
	}
	for g := range all {
		if kept[g] == 0 {
			t.Errorf("no reading of %s is held", g)
		}
	}
}

// TestChangedWhileRead: a file that is another when it is read again is refused, and what
// has to be told of it is an error, never a number.
func TestChangedWhileRead(t *testing.T) {
	text := roundsOf(100, false, false).csv()
	for name, change := range map[string]func(text []byte){
		"a digit":  func(text []byte) { text[bytes.LastIndexByte(text, '.')+1] ^= 1 },
		"a letter": func(text []byte) { text[bytes.LastIndexByte(text, '.')+1] = 'x' },
		"a name":   func(text []byte) { text[bytes.LastIndexByte(text, 'L')+1] = '9' },
		"an end":   func(text []byte) { clear(text[len(text)/2:]) },
	} {
		t.Run(name, func(t *testing.T) {
			held := bytes.Clone(text)
			s, err := readHolding(bytes.NewReader(held), "b.csv", MaxBytes, 500)
			if err != nil {
				t.Fatal(err)
			}
			change(held)
			if c, _, err := Check(s); err == nil || len(c.Points()) > 0 {
				t.Errorf("checked without an error: %d points", len(c.Points()))
			}
		})
	}
}

// TestTroubleInManyReadings: what is wrong is told with its line, wherever it stands.
func TestTroubleInManyReadings(t *testing.T) {
	f := roundsOf(100, false, false)
	f.rows[3000][7] = "x"
	_, err := readHolding(bytes.NewReader(f.csv()), "b.csv", MaxBytes, 500)
	if err == nil || !strings.Contains(err.Error(), "line 3002, column volume_ml") {
		t.Errorf("the error is %v", err)
	}
}

// TestRestOfAHoldOut: readings that were chosen have no rest.
func TestRestOfAHoldOut(t *testing.T) {
	s, err := readHolding(bytes.NewReader(roundsOf(100, false, false).csv()), "b.csv", MaxBytes, 500)
	if err != nil {
		t.Fatal(err)
	}
	s.Readings = s.Readings.Only(func(k int) bool { return k%2 == 0 })
	c, notes, err := Check(s)
	chosen := 0
	for _, r := range s.Readings.All() {
		if r.Injector == c.Injectors()[0].ID {
			chosen++
		}
	}
	if err != nil || s.Readings.Rest() != 0 || c.Rest(0, 0) != (Rest{}) || c.ReadingsOf(0) != chosen {
		t.Errorf("a rest of %d, %+v, %v, %v", s.Readings.Rest(), c.Rest(0, 0), notes, err)
	}
}

// TestAnyFileIsThinned: however pressures and voltages wander, every reading is either held or
// judged with its injector.
func TestAnyFileIsThinned(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var text strings.Builder
		text.WriteString("injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n")
		wander := rapid.Float64Range(0, 0.04).Draw(rt, "wander")
		injectors := rapid.IntRange(1, 5).Draw(rt, "injectors")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		rounds := rapid.IntRange(30, 200).Draw(rt, "rounds")
		for range rounds {
			at := manyConditions[r.IntN(len(manyConditions))]
			pressure, voltage := at.pressure*(1+wander*(r.Float64()-0.5)), at.voltage*(1+wander*(r.Float64()-0.5))
			for i := range injectors {
				if at.pulse == 0 {
					fmt.Fprintf(&text, "N%d,0,60000,1,%d,%.1f,%.2f\n", i, r.IntN(2), pressure, voltage)
					continue
				}
				amount := max(0, 5*(at.pulse-0.8)*(1+0.01*r.NormFloat64())*float64(min(1, r.IntN(30))))
				fmt.Fprintf(&text, "N%d,%g,%g,1000,%.1f,%.1f,%.2f\n", i, at.pulse, at.period, amount, pressure, voltage)
			}
		}
		s, err := readHolding(strings.NewReader(text.String()), "b.csv", MaxBytes, rapid.IntRange(1, 100).Draw(rt, "room"))
		if err != nil {
			rt.Fatal(err)
		}
		c, _, err := Check(s)
		if err != nil {
			rt.Fatal(err)
		}
		for i, inj := range c.Injectors() {
			if n := c.ReadingsOf(i); n != rounds {
				rt.Errorf("injector %s has %d readings, want %d", inj.ID, n, rounds)
			}
		}
	})
}

// lines are rows of a file in the order of their cells below.
const lines = "injector,pulse_ms,period_ms,shots,pressure_kpa,voltage_v,volume_ml\n"

// TestLeakerThatScattersIsNotJudgedOneByOne: what is not held of an injector that does not
// repeat itself counts as what is held does, whatever else is wrong with it.
func TestLeakerThatScattersIsNotJudgedOneByOne(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	text := lines
	for range 150 {
		for _, pulse := range []float64{0, 2, 3, 4, 6, 8} {
			for i := range 6 {
				drips, scatter := 0, 0.002
				if i == 2 {
					drips, scatter = 6, 0.25
				}
				if pulse == 0 {
					text += fmt.Sprintf("L%d,0,60000,1,300,13.5,%d\n", i, drips)
					continue
				}
				text += fmt.Sprintf("L%d,%g,20,1000,300,13.5,%.1f\n", i, pulse, 5*(pulse-0.8)*(1+scatter*r.NormFloat64()))
			}
		}
	}
	all, _ := judged(t, strings.NewReader(text), mostHeld)
	part, _ := judged(t, strings.NewReader(text), 1000)
	if all.Injectors()[2].Verdict != Leaking || part.Readings().Rest() == 0 {
		t.Fatalf("%+v with a rest of %d", all.Injectors()[2], part.Readings().Rest())
	}
	alike(t, all, part)
}

// TestOnePlaceIsNoMeasure: where repeats stand side by side, those of several places are held,
// so that one place that is wrong as a whole does not make the others wrong.
func TestOnePlaceIsNoMeasure(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	text := lines
	for round := range 60 {
		for i := range 20 {
			off := 1.0
			if round == 0 {
				off = 0.93
			}
			for range 14 {
				text += fmt.Sprintf("L%d,4,20,1000,300,13.5,%.2f\n", i, off*16*(1+0.002*r.NormFloat64()))
			}
			text += "\n\n"
		}
	}
	all, _ := judged(t, strings.NewReader(text), mostHeld)
	part, _ := judged(t, strings.NewReader(text), 200)
	if part.Readings().Len() > 20*2*leastPlaces*14 {
		t.Errorf("%d readings are held", part.Readings().Len())
	}
	alike(t, all, part)
}

// TestTooManySlipsAreNone: where more than a quarter of the rest of a pair would be wrong, all
// of it counts, and is not named any more.
func TestTooManySlipsAreNone(t *testing.T) {
	j := &restJudge{
		right: []sums{{n: 3, perShot: 3, variance: 3}, {n: 90, perShot: 90}, {n: 1}},
		wrong: []sums{{n: 4, nothing: 1, perShot: 8, variance: 8}, {n: 10, perShot: 30}, {n: 1}},
		told:  []toldWrong{{pair: 0}, {pair: 1}, {pair: 0}},
	}
	if pairs := j.doubt(); pairs != 1 || len(j.told) != 1 || j.told[0].pair != 1 {
		t.Errorf("%d pairs are doubted, %v told", pairs, j.told)
	}
	if want := (sums{n: 7, nothing: 1, perShot: 11, variance: 11}); j.right[0] != want || j.wrong[0] != (sums{}) {
		t.Errorf("%+v and %+v wrong, want %+v and none", j.right[0], j.wrong[0], want)
	}
	if j.right[1].n != 90 || j.wrong[1].n != 10 || j.wrong[2].n != 1 {
		t.Errorf("%+v, %+v", j.right, j.wrong)
	}
}

// TestChecksOfOneSheet may be made side by side; none is made of what a check left.
func TestChecksOfOneSheet(t *testing.T) {
	s, err := readHolding(bytes.NewReader(roundsOf(100, false, false).csv()), "b.csv", MaxBytes, 1000)
	if err != nil {
		t.Fatal(err)
	}
	var beside sync.WaitGroup
	for range 2 {
		beside.Go(func() {
			if _, _, err := Check(s); err != nil {
				t.Error(err)
			}
		})
	}
	beside.Wait()
	c, _, err := Check(s)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := Check(c.Sheet()); err == nil || !strings.Contains(err.Error(), "read the file anew") {
		t.Errorf("a second check of what is held alone: %v", err)
	}
}

// TestAsManyAsAreHeld are held.
func TestAsManyAsAreHeld(t *testing.T) {
	text := roundsOf(10, false, false).csv()
	for room, rest := range map[int]bool{359: true, 360: false} {
		s, err := readHolding(bytes.NewReader(text), "b.csv", MaxBytes, room)
		if err != nil || (s.Readings.Rest() > 0) != rest {
			t.Errorf("of 360 readings %d are not held with room for %d (%v)", s.Readings.Rest(), room, err)
		}
	}
}

// TestPartsHoldNoWindow: parts of a file that wait to be read hold nothing of it.
func TestPartsHoldNoWindow(t *testing.T) {
	_, src := begin(t, string(roundsOf(20, false, false).csv()))
	parts, err := src.(*csvSource).parts(1000)
	if err != nil || len(parts) < 10 {
		t.Fatalf("%d parts, %v", len(parts), err)
	}
	for _, part := range parts {
		if part.text.buf != nil {
			t.Fatal("a part has a window before it is read")
		}
	}
}

// BenchmarkThinned reads and checks fifteen times as many readings as are held.
func BenchmarkThinned(b *testing.B) {
	text := roundsOf(2000, false, false).csv()
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		s, err := readHolding(bytes.NewReader(text), "b.csv", MaxBytes, 5000)
		if err != nil {
			b.Fatal(err)
		}
		if _, _, err := Check(s); err != nil {
			b.Fatal(err)
		}
	}
}
