package export

import (
	"bytes"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/diag/diagtest"
	"injtab/tables"
)

// mustPlace demands of an error of a CSV file its line, but where the whole is meant.
func mustPlace(t *testing.T, err error) {
	for _, n := range diagtest.Notes(t, err, "f.csv") {
		if n.Place.Line < 1 && n.Code != "encoding" && n.Code != "no_table" {
			t.Errorf("%+v names no line", n)
		}
	}
}

func mustBeFinite(t *testing.T, list ...tables.Table) {
	for _, table := range list {
		for _, row := range table.Cells {
			for _, c := range row {
				if math.IsNaN(c.Value+c.CI95) || math.IsInf(c.Value+c.CI95, 0) {
					t.Fatalf("table %s has %v", table.Name, c)
				}
			}
		}
	}
}

// FuzzReadCSV: errors have their line; whatever is read once has numbers and is
// written the same way ever after.
func FuzzReadCSV(f *testing.F) {
	for _, table := range []tables.Table{flow(), deadTime(), trims(), deviation()} {
		f.Add(csvOf(f, table))
	}
	f.Add([]byte("a;b\n1,5;'=x\n"))
	f.Add([]byte("a,1\n'',\n"))
	f.Add([]byte("a,b\n1,1e999\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		diagtest.Bounded(t, len(data), func() { mustReadCSV(t, data) })
	})
}

func mustReadCSV(t *testing.T, data []byte) {
	first, err := ReadCSV(bytes.NewReader(data), "f.csv")
	if err != nil {
		mustPlace(t, err)
		return
	}
	mustBeFinite(t, first)
	var once, twice bytes.Buffer
	if CSV(&once, first) != nil {
		t.Skip() // headers that differ in the file and not as numbers
	}
	second, err := ReadCSV(bytes.NewReader(once.Bytes()), "f.csv")
	if err != nil {
		t.Fatalf("%v in %q", err, once.Bytes())
	}
	if err := CSV(&twice, second); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(once.Bytes(), twice.Bytes()) {
		t.Errorf("once %q, twice %q", once.Bytes(), twice.Bytes())
	}
}

// FuzzReadCells: errors have their line, and what is accepted fits tables.
func FuzzReadCells(f *testing.F) {
	list := []tables.Table{flow(), deadTime(), trims()}
	var b bytes.Buffer
	if err := Cells(&b, list); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte("table,row,column,value,unit,ci95,basis,status\nflow,250,flow_ml_min,456.6,ml/min,nan,measured,ok\n"))
	f.Add([]byte("table;row;column;value;unit;ci95;basis;status\nflow;250;flow_ml_min;456,6;ml/min;1e999;measured;ok\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		diagtest.Bounded(t, len(data), func() {
			notes, err := readCells(bytes.NewReader(data), "f.csv")
			if err != nil {
				mustPlace(t, err)
				return
			}
			list := []tables.Table{flow(), deadTime(), trims()}
			for i := range list {
				notes.annotate(&list[i])
			}
			mustBeFinite(t, list...)
		})
	})
}

// FuzzReadManifest: no path leads out of the folder; what is accepted is the same when
// written and read again.
func FuzzReadManifest(f *testing.F) {
	files := []NamedFile{{Name: "flow.csv", Data: csvOf(f, flow())}, {Name: "tables.xlsx", Data: []byte("PK")}}
	text, err := NewManifest("Injector tables", "", []Input{NewInput("bench.csv", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")}, []tables.Table{flow()}, files).JSON()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text.Data)
	f.Add([]byte(`{"resources":[{"path":"../x"},{"path":"/etc/passwd"},{"path":"C:x"},{"path":""}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		diagtest.Bounded(t, len(data), func() {
			m, err := parseManifest(data, "folder")
			if err != nil {
				if !strings.Contains(err.Error(), ManifestName+" in folder folder") {
					t.Errorf("%v names no file", err)
				}
				return
			}
			for _, path := range m.paths() {
				if !filepath.IsLocal(path) {
					t.Errorf("%q was taken", path)
				}
			}
			text, err := m.JSON()
			if err != nil {
				t.Fatal(err)
			}
			again, err := parseManifest(text.Data, "folder")
			if diff := cmp.Diff(m, again); err != nil || diff != "" {
				t.Errorf("%v: %s", err, diff)
			}
		})
	})
}

// FuzzReadWorkbook reads a workbook of tables of which three parts are any XML.
func FuzzReadWorkbook(f *testing.F) {
	z := workbookOf(f, sampleReport())
	parts := diagtest.Unzip(f, z)
	const names, sheet, texts = "xl/workbook.xml", "xl/worksheets/sheet2.xml", "xl/sharedStrings.xml"
	for _, part := range []string{names, sheet, texts} {
		if parts[part] == "" {
			f.Fatalf("the workbook has the parts %v", slices.Sorted(maps.Keys(parts)))
		}
	}
	f.Add(parts[names], parts[sheet], parts[texts])
	f.Add(strings.ReplaceAll(parts[names], "$4:", "$1048576:"), parts[sheet], parts[texts])
	f.Fuzz(func(t *testing.T, a, b, c string) {
		parts[names], parts[sheet], parts[texts] = a, b, c
		data := diagtest.Zip(t, parts)
		diagtest.Bounded(t, len(data), func() {
			list, err := ReadWorkbook(bytes.NewReader(data))
			if err == nil {
				mustBeFinite(t, list...)
			} else if list != nil || !strings.Contains(err.Error(), " ") {
				t.Errorf("%d tables beside %v", len(list), err)
			}
		})
	})
}

// FuzzLookUp plays the ECU with tables as people may have edited them: they are
// refused with the table's name, or every pulse that they give is a number and leads
// back to its volume.
func FuzzLookUp(f *testing.F) {
	const flow, dead = "pressure_kpa,flow_ml_min\n250,456.6\n300,500.2\n", "voltage_v\\pressure_kpa,250,300\n8,2.312,\n12,1.1,1.15\n15,0.77,0.805\n"
	const short, trims = "effective_ms,correction_ms\n0.4,0.21\n1,0.04\n5,0\n", "cylinder,injector,flow_only_trim_pct,flow_trim_pct,dead_time_trim_ms,factor_flow_trim_pct,dead_time_factor\n1,A,1.5,1.1,0.012,1.2,1.02\n,B,-1.5,-1.1,-0.012,-1.2,0.98\n"
	f.Add(flow, dead, short, trims, 0.02)
	f.Add("pressure_kpa;flow_ml_min\n300;0,5\n", dead, short, trims, 5.0)
	f.Add(flow, "voltage_v\\pressure_kpa,1\n1,-20\n", short, trims, 1e-9)
	f.Add(flow, dead, "effective_ms,correction_ms\n1,0\n1.5,-0.49\n", "cylinder,injector,flow_only_trim_pct,flow_trim_pct,dead_time_trim_ms,factor_flow_trim_pct,dead_time_factor\n1,A,-90,900,20,0,0.1\n", 0.1)
	f.Fuzz(func(t *testing.T, flow, dead, short, trims string, m float64) {
		var list []tables.Table
		for name, text := range map[string]string{"flow": flow, "dead_time": dead, "short_pulse": short, "trims": trims} {
			table, err := ReadCSV(strings.NewReader(text), name+".csv")
			if err != nil {
				return
			}
			list = append(list, table)
		}
		e, err := tables.NewECU(list)
		if err != nil {
			if !strings.Contains(err.Error(), "the table ") {
				t.Errorf("%v names no table", err)
			}
			return
		}
		if m > 0 && m < 1 {
			mustLookUp(t, e, m)
		}
	})
}

func mustLookUp(t *testing.T, e *tables.ECU, m float64) {
	for _, id := range e.Injectors() {
		for _, form := range e.Forms() {
			pulse, err := e.Pulse(id, form, false, m, 300, 13)
			if err != nil {
				return // an empty cell
			}
			if math.IsNaN(pulse) || math.IsInf(pulse, 0) {
				t.Fatalf("%s %v: the pulse for %v ml is %v", id, form, m, pulse)
			}
			back, ok, err := e.Volume(id, form, false, pulse, 300, 13)
			if err != nil || math.IsNaN(back) || ok && math.Abs(back-m) > 1e-6*m+1e-12 {
				t.Errorf("%s %v: %v ml is %v ms, which is %v ml, %v", id, form, m, pulse, back, err)
			}
		}
	}
}
