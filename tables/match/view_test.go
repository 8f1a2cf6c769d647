package match

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"injtab/tables"
)

// TestNamesThatOthersRelyOn: the keys of the JSON document.
func TestNamesThatOthersRelyOn(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	res := chosen(t, checked(t, newBox(r, 16).rows(r)), v8)
	text, err := json.Marshal(res)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Proof *string  `json:"proof"`
		Bound *float64 `json:"bound_pct"`
		Sets  []struct {
			Name      *string   `json:"name"`
			Injectors *[]string `json:"injectors"`
			Spread    *float64  `json:"spread_pct"`
			ByPoint   []struct {
				Pulse    *float64 `json:"pulse_ms"`
				Pressure *float64 `json:"pressure_kpa"`
				Voltage  *float64 `json:"voltage_v"`
				Spread   *float64 `json:"spread_pct"`
			} `json:"by_point"`
			Proof *string  `json:"proof"`
			Bound *float64 `json:"bound_pct"`
			Seats []struct {
				Cylinder *int    `json:"cylinder"`
				Injector *string `json:"injector"`
				Bank     *int    `json:"bank"`
			} `json:"seats"`
		} `json:"sets"`
		LeftOut []struct {
			Injector *string `json:"injector"`
			Reason   *string `json:"reason"`
		} `json:"left_out"`
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	s := doc.Sets[0]
	if doc.Proof == nil || doc.Bound == nil || s.Name == nil || s.Injectors == nil || s.Spread == nil || s.Proof == nil || s.Bound == nil ||
		s.ByPoint[0].Pulse == nil || s.ByPoint[0].Pressure == nil || s.ByPoint[0].Voltage == nil || s.ByPoint[0].Spread == nil ||
		s.Seats[0].Cylinder == nil || s.Seats[0].Injector == nil || s.Seats[0].Bank == nil ||
		doc.LeftOut[0].Injector == nil || doc.LeftOut[0].Reason == nil {
		t.Errorf("a key is missing in %s", text)
	}
	if len(*s.Injectors)+len(doc.LeftOut) != 16 {
		t.Errorf("%d chosen and %d left out of 16", len(*s.Injectors), len(doc.LeftOut))
	}
}

// TestSectionsHoldTogether: every table is rectangular, every number finite,
// every chart's series as long as it says.
func TestSectionsHoldTogether(t *testing.T) {
	r := rand.New(rand.NewPCG(63, 64))
	c := checked(t, newBox(r, 20).rows(r))
	seated := v8
	seated.Spares = 2
	weights, err := ParseWeights("2ms=3")
	if err != nil {
		t.Fatal(err)
	}
	members := chosen(t, c, Options{Of: 6}).Sets[0].Injectors
	for _, o := range []Options{
		seated, {Of: 4, Sets: 3}, {Of: 4, Sets: 2, Aim: BestFirst, Weights: weights},
		{Of: 4, Aim: MostSets, Within: 0.03}, {Of: 4, Aim: MostSets, Within: 1e-6},
		{Keep: members, Replace: members[0]},
	} {
		res := chosen(t, c, o)
		report := res.Report()
		if report.Title == "" || len(report.Answer) == 0 || len(report.Facts) == 0 {
			t.Errorf("%+v: no title, answer or facts", o)
		}
		s := res.Section()
		names := map[string]bool{}
		for _, table := range s.Tables {
			checkTable(t, table)
			if names[table.Name] {
				t.Errorf("two tables are named %s", table.Name)
			}
			names[table.Name] = true
		}
		for _, chart := range s.Charts {
			for _, series := range chart.Series {
				if len(series.X) != len(series.Y) || len(series.Labels) != len(series.X) || len(series.X) == 0 {
					t.Errorf("series %s: %d, %d, %d", series.Name, len(series.X), len(series.Y), len(series.Labels))
				}
				for k := range series.X {
					if !finite(series.X[k]) || !finite(series.Y[k]) {
						t.Errorf("series %s, point %d is not finite", series.Name, k)
					}
				}
			}
		}
	}
}

func checkTable(t *testing.T, table tables.Table) {
	t.Helper()
	if len(table.RowText) != len(table.Cells) {
		t.Errorf("table %s: %d names of %d rows", table.Name, len(table.RowText), len(table.Cells))
	}
	for _, row := range table.Cells {
		if len(row) != len(table.Cols) {
			t.Errorf("table %s: %d cells under %d columns", table.Name, len(row), len(table.Cols))
		}
		for _, cell := range row {
			if !finite(cell.Value) || !finite(cell.CI95) {
				t.Errorf("table %s: a cell is not finite", table.Name)
			}
		}
	}
}

// A picture holds the points at which the sets spread most, in their order.
func TestPictureOfManyPoints(t *testing.T) {
	var rows []string
	for i := range 4 {
		for p := 2; p < 18; p++ {
			off := 0.0
			if i == 0 && p > 12 {
				off = 0.02
			}
			rows = append(rows, fmt.Sprintf("%d,%d,20,1000,%.2f", i+1, p, 5*(float64(p)-0.8)*(1+off)))
		}
	}
	r := chosen(t, checked(t, rows), Options{Of: 4})
	c := r.Section().Charts[0]
	if len(c.Categories) != mostCharted || !slices.Contains(c.Categories, "17 ms 300 kPa 13.5 V") || c.Categories[mostCharted-1] != "17 ms 300 kPa 13.5 V" {
		t.Errorf("points shown: %q", c.Categories)
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func TestAnswerInWords(t *testing.T) {
	r := chosen(t, checked(t, small()), Options{Of: 3})
	text := strings.Join(r.Answer(), "\n")
	for _, want := range []string{
		"Set 1: injectors 1, 2 and 3. As read they spread 1.00 % at the worst, at 2 ms 300 kPa 13.5 V, where injector 2 delivers most and 1 least",
		"Proven: no other 3 of the 4 injectors spread less at their worst point.",
		"The next best set has 4 instead of ",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in:\n%s", want, text)
		}
	}
}

// The spread that was read and the true one are told apart, and why the interval may
// not hold what was read.
func TestTrueSpreadInWords(t *testing.T) {
	for _, c := range []struct {
		read float64
		want string
	}{
		{2, "freed of the noise of the readings, the spread is between 1.50 % and 2.50 % (95 %)"},
		{1, "more than was read, because a set is chosen for close readings"},
		{3, "less than was read, because the widest of many readings"},
	} {
		text := Interval{Lo: 1.5, Hi: 2.5}.sentence(c.read)
		if !strings.Contains(text, c.want) {
			t.Errorf("read %v: %s", c.read, text)
		}
	}
}

// Seats that make no difference are not called better.
func TestSeatsWithoutADifference(t *testing.T) {
	r := Result{pile: &pile{request: request{Options: Options{Banks: [][]int{{1, 2}, {3, 4}}}}}}
	for want, s := range map[string]Seating{
		"so alike that no seat is better":                          {},
		"differ by 1.00 %, no more than seated by name; at random": {UnevenPct: 1, AsNumberedPct: 1.001, RandomPct: 2, Proof: optimal},
		"seated by name they would by 1.50 %":                      {UnevenPct: 1, AsNumberedPct: 1.5, RandomPct: 2, Proof: optimal},
	} {
		if text := r.seatingSentence(Set{Name: "set 1", Seating: &s}); !strings.Contains(text, want) {
			t.Errorf("%q is missing in: %s", want, text)
		}
	}
}

// What is kept by hand limits what is proven, and the proof says so.
func TestProofNamesWhatIsKept(t *testing.T) {
	r := chosen(t, checked(t, small()), Options{Of: 3, Keep: []string{"4"}})
	if text := strings.Join(r.Answer(), "\n"); !strings.Contains(text, "no other 3 of the 4 injectors, with injector 4 among them, spread less") {
		t.Errorf("the proof does not name the one kept:\n%s", text)
	}
}
