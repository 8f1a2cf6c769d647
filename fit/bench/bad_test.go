package bench_test

import (
	"encoding/binary"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/bench"
)

func utf16le(text string) string {
	var b []byte
	for _, u := range utf16.Encode([]rune(text)) {
		b = binary.LittleEndian.AppendUint16(b, u)
	}
	return string(b)
}

// TestReadErrors: each mistake is named with its place, and a word of the remedy.
func TestReadErrors(t *testing.T) {
	const good = "7,2.5,10,3000,64.5,300,13.5\n"
	for _, c := range []struct {
		name, text string
		want       string // what the message says, parts divided by …
	}{
		{"empty", "", "b.csv: …empty"},
		{"blank", " \r\n\n", "b.csv: …empty"},
		{"header only", head, "b.csv, line 1: …no reading below"},
		{"no header", good, "b.csv, line 1: no header row"},
		{"nothing filled in", head + "7,2.5,10,3000,,300,13.5\n", "line 1: 1 amount is prepared and none filled in"},
		{"BOM alone", "\uFEFF", "b.csv…no header"},
		{"UTF-16 with mark", "\xFF\xFE" + utf16le(head+good), "b.csv: …UTF-16…CSV UTF-8"},
		{"UTF-16 without", utf16le(head + good), "b.csv: …UTF-16"},
		{"Latin-1", head + good + "\xB5,2.5,10,3000,64.5,300,13.5\n", "line 3: …not UTF-8"},
		{"NUL", head + "7,2.5,10\x00,3000,64.5,300,13.5\n", "line 2: …no text has"},
		{"PDF", "%PDF-1.7 …", "PDF"},
		{"old workbook", "\xD0\xCF\x11\xE0\xA1\xB1", "password"},

		{"no pulse", strings.Replace(head, "pulse_ms,", "", 1) + "7,10,3000,64.5,300,13.5\n", "line 1: pulse is missing…pulse_us"},
		{"no period", strings.Replace(head, "period_ms,", "", 1) + "7,10,3000,64.5,300,13.5\n", "line 1: period is missing…frequency_hz"},
		{"no shots", strings.Replace(head, "shots,", "", 1) + "7,2,10,64.5,300,13.5\n", "line 1: shots is missing…duration_s"},
		{"no volume", strings.Replace(head, "volume_ml,", "", 1) + "7,2,10,30,300,13.5\n", "line 1: volume is missing…mass_g"},
		{"no voltage", strings.Replace(head, ",voltage_v", "", 1) + "7,2,10,30,60,300\n", "line 1: voltage is missing…# voltage_v"},
		{"no pressure", strings.Replace(head, "pressure_kpa,", "", 1) + "7,2,10,30,60,12\n", "line 1: pressure is missing…pressure_bar"},
		{"no injector", strings.Replace(head, "injector,", "", 1) + "2,10,30,60,300,12\n", "line 1: there is no injector"},
		{"misspelt injector", strings.Replace(head, "injector", "injectr", 1) + good, "column injectr: …did you mean injector?"},
		{"two units", strings.Replace(head, "shots", "shots,pulse_us", 1) + "7,2.5,10,30,2500,64.5,300,13.5\n", "column pulse_us: pulse_ms and pulse_us say the same"},
		{"twice the same", strings.Replace(head, "shots", "shots,Pulse_MS", 1) + "7,2.5,10,30,2500,64.5,300,13.5\n", "column Pulse_MS: two columns are called Pulse_MS"},
		{"period and frequency", strings.Replace(head, "shots", "shots,frequency_hz", 1) + "7,2.5,10,30,100,64.5,300,13.5\n", "column frequency_hz: …say the same"},
		{"shots and duration", strings.Replace(head, "shots", "shots,duration_s", 1) + "7,2.5,10,30,100,64.5,300,13.5\n", "column duration_s: …say the same"},
		{"column and setup", "# pressure_bar = 3\n" + head + good, "line 2, column pressure_kpa: …setup line (line 1)"},
		{"setup twice", "# voltage_v = 13\n# voltage_v = 14\n" + head, "line 2, column voltage_v: …line 1"},
		{"setup in two units", "# pulse_ms = 2\n# pulse_us = 2000\n" + head, "line 2, column pulse_us: …pulse_ms in line 1"},
		{"unit does not fit", strings.Replace(head, "pulse_ms", "pulse_s", 1) + good, "column pulse_s: …does not fit…pulse_ms or pulse_us"},
		{"no unit", strings.Replace(head, "pressure_kpa", "Pressure", 1) + good, "column Pressure: …no unit…pressure_kpa"},
		{"unknown column", strings.Replace(head, "shots", "shots,colour", 1) + "7,2.5,10,30,red,64.5,300,13.5\n", "column colour: …is no column of a bench file…note"},
		{"near a column", strings.Replace(head, "shots", "shots,notes", 1) + "7,2.5,10,30,red,64.5,300,13.5\n", "column notes: …did you mean note?"},
		{"cell without a header", strings.Replace(head, "shots", "shots,", 1) + "7,2.5,10,30,red,64.5,300,13.5\n", "line 2, column E: \"red\" stands in a column without a header"},
		{"number above header", "Pressure,300\n" + head + good, "line 1, column B: \"300\" stands above the header…setup line"},

		{"text in number", head + "7,2.5,10,3000,about 64,300,13.5\n", "line 2, column volume_ml: \"about 64\" is not a number"},
		{"unit in cell", head + "7,2.5ms,10,3000,64,300,13.5\n", "line 2, column pulse_ms: \"2.5ms\" is not a number…header"},
		{"hexadecimal", head + "7,0x2,10,3000,64,300,13.5\n", "column pulse_ms: \"0x2\" is not a number"},
		{"underscore", head + "7,2,10,3_000,64,300,13.5\n", "column shots: \"3_000\" is not a number"},
		{"two points", head + "7,2,10,3000,64.5.1,300,13.5\n", "column volume_ml: \"64.5.1\" is not a number"},
		{"sign alone", head + "7,2,10,3000,-,300,13.5\n", "column volume_ml: \"-\" is not a number"},
		{"point alone", head + "7,2,10,3000,.,300,13.5\n", "column volume_ml: \".\" is not a number"},
		{"exponent alone", head + "7,2,10,3000,1e,300,13.5\n", "column volume_ml: \"1e\" is not a number"},
		{"infinite", head + "7,2,10,3000,inf,300,13.5\n", "column volume_ml: \"inf\" is not a finite"},
		{"not a number", head + "7,2,10,3000,NaN,300,13.5\n", "column volume_ml: \"NaN\" is not a finite"},
		{"too large", head + "7,2,10,3000,1e400,300,13.5\n", "column volume_ml: \"1e400\" is beyond any number"},
		{"negative", head + "7,2,10,3000,-64.5,300,13.5\n", "column volume_ml: \"-64.5\" is negative"},
		{"negative setup", "# pressure_kpa = -300\n" + head, "line 1, column pressure_kpa: \"-300\" is negative"},
		{"text in setup", "# clamp_v = about 36\n" + head + good, "line 1, column clamp_v: \"about 36\" is not a number"},

		{"decimal comma unquoted", head + "7,2,5,10,3000,64,5,300,13,5\n", "line 2: the row has 10 cells but the header has 7…semicolons"},
		{"decimal comma quoted", head + "7,2.5,10,3000,\"64,5\",300,13.5\n", "line 2, column volume_ml: \"64,5\" has a comma but commas separate"},
		{"both decimal signs", strings.ReplaceAll(head, ",", ";") + "7;2,5;10;3000;64.5;300;13,5\n", "decimal comma but the one in line 2, column volume_ml, has a decimal point"},
		{"thousands", strings.ReplaceAll(head, ",", ";") + "7;2;10;3000;64,500;300;13\n", "line 2, column volume_ml: …separator of thousands"},
		{"thousands in shots", strings.ReplaceAll(head, ",", ";") + "7;2,5;10;3,000;64,5;300;13\n", "line 2, column shots: \"3,000\" may be a thousand"},
		{"points in shots", head + "7,2.5,10,3.000,64.5,300,13\n", "column shots: \"3.000\" may be a thousand"},
		{"point and comma", strings.ReplaceAll(head, ",", ";") + "7;2;10;3000;1.064,5;300;13\n", "\"1.064,5\" has a point and a comma"},
		{"thousands in setup", "# pressure_kpa = 1,013\n" + strings.ReplaceAll(head, ",", ";"), "line 1, column pressure_kpa: \"1,013\" may have"},
		{"mixed separators", "injector;pulse_ms;period_ms,shots,volume_ml;pressure_kpa,voltage_v\n", "line 1: …several kinds of separator"},
		{"row too long", head + "7,2.5,10,3000,64.5,300,13.5,ok\n", "line 2: the row has 8 cells but the header has 7"},
		{"row too short", head + "7,2.5,10,3000,64.5\n", "line 2: the row has 5 cells but the header has 7…cut off"},
		{"lonely quote", head + "7,2.5,10,3000,64.5,300,13.5\n7,2.5,10,3000,64\"5,300,13.5\n", "line 3: a quotation mark"},
		{"open quote", head + "\"7,2.5,10,3000,64.5,300,13.5\n", "line 2: a quotation mark"},

		{"pulse over period", head + "7,12,10,3000,64.5,300,13.5\n", "line 2, column pulse_ms: the pulse of 12 ms is longer than the period of 10 ms"},
		{"pulse in us", head + "7,2500,10,3000,64.5,300,13.5\n", "column pulse_ms: the pulse of 2500 ms…(ms or µs)"},
		{"pulse in s", head + "7,0.0025,10,3000,64.5,300,13.5\n", "column pulse_ms: a pulse of 0.0025 ms opens no injector"},
		{"period in s", head + "7,0.01,0.02,3000,64.5,300,13.5\n", "column period_ms: a period of 0.02 ms is too short"},
		{"no frequency", "injector,pulse_ms,frequency_hz,shots,volume_ml,pressure_kpa,voltage_v\n7,2.5,0,3000,64.5,300,13.5\n", "line 2, column frequency_hz: …empty"},
		{"no shots run", head + "7,2.5,10,0,64.5,300,13.5\n", "column shots: 0 shots"},
		{"part of a shot", "injector,pulse_ms,period_ms,duration_s,volume_ml,pressure_kpa,voltage_v\n7,2.5,1000,0.5,1,300,13.5\n", "column duration_s: 0.5 of a shot"},
		{"microlitres", head + "7,2.5,10,3000,0.00001,300,13.5\n", "column volume_ml: 1e-05 ml is less than"},
		{"division", strings.Replace(head, "shots", "shots,division_ml", 1) + "7,2.5,10,3000,5000,64.5,300,13.5\n", "column division_ml: …litre"},
		{"litres per shot", head + "7,2.5,10,3,6450,300,13.5\n", "column volume_ml: this makes 1.29e+07 ml/min"},
		{"millivolts", head + "7,2.5,10,3000,64.5,300,13500\n", "column voltage_v: 13500 V…millivolts"},
		{"no voltage", head + "7,2.5,10,3000,64.5,300,0\n", "column voltage_v: 0 V drives no injector"},
		{"kPa as bar", strings.Replace(head, "_kpa", "_bar", 1) + "7,2.5,10,3000,64.5,300,13.5\n", "column pressure_bar: 30000 kPa is too high"},
		{"bar as kPa", head + "7,2.5,10,3000,64.5,3,13.5\n", "column pressure_kpa: 3 kPa is too low…bar"},
		{"absurd setup", "# pressure_kpa = 3\n" + strings.Replace(head, "pressure_kpa,", "", 1) + "7,2.5,10,3000,64.5,13.5\n8,2.5,10,3000,64.5,13.5\n", "b.csv, line 1, column pressure_kpa: 3 kPa is too low"},
		{"absurd rating", "# rated_pressure_kpa = 3\n" + head + good, "line 1, column rated_pressure_kpa: rated_pressure_kpa = 3 is not believable: expected 10 to 1500"},
		{"temperature", strings.Replace(head, "shots", "shots,temp_c", 1) + "7,2.5,10,30,180,64.5,300,13.5\n", "column temp_c: 180 °C…°F"},
		{"resistance", strings.Replace(head, "shots", "shots,resistance_ohm", 1) + "7,2.5,10,30,14000,64.5,300,13.5\n", "column resistance_ohm: 14000 ohm"},

		{"empty cell", head + "7,,10,3000,64.5,300,13.5\n", "line 2, column pulse_ms: the cell is empty"},
		{"empty injector", head + ",2.5,10,3000,64.5,300,13.5\n", "line 2, column injector: the cell is empty"},
		{"no fluid", "injector,pulse_ms,period_ms,shots,mass_g,pressure_kpa,voltage_v\n7,2.5,10,3000,64.5,300,13.5\n", "line 1: amounts are in grams…# fluid"},
		{"unknown fluid", "# fluid = soup\n" + head + good, "line 1, column fluid: …soup…gasoline"},
		{"unknown setup", "# colour = red\n" + head + good, "line 1, column colour: …no setup line"},
		{"setup misspelt", "# drivr = red\n" + head + good, "line 1, column drivr: …did you mean driver?"},
		{"setup without unit", "# clamp = 36\n" + head + good, "line 1, column clamp: …clamp_v"},
		{"setup too late", head + good + "# driver = saturated\n", "line 3, column driver: …below the header"},
		{"row left out", head + good + "#8,2.5,10,3000,64.5,300,13.5\n", "line 3, column injector: the row begins with #"},

		{"wide near miss", "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,temp_k,7\n2.5,10,3000,300,13.5,294,64.5\n", "column temp_k: …does not fit…# injectors"},
		{"wide no unit", "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,temp,7\n2.5,10,3000,300,13.5,294,64.5\n", "column temp: temp has no unit…# injectors"},
		{"wide unit", "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,flow_ml,7\n2.5,10,3000,300,13.5,294,64.5\n", "column flow_ml: …ends in the unit _ml"},
		{"wide two edits", "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,slots,7\n2.5,10,3000,300,13.5,294,64.5\n", "column slots: …did you mean shots?"},
		{"wide twice", "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,7,7\n2.5,10,3000,300,13.5,64,64.5\n", "column 7: injector \"7\" has two columns"},
		{"wide and volume", "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,volume_ml,7\n2.5,10,3000,300,13.5,64,64.5\n", "column volume_ml: …do not go together"},
		{"wide, not there", "# injectors = 7, 8\npulse_ms,period_ms,shots,pressure_kpa,voltage_v,7\n2.5,10,3000,300,13.5,64\n", "line 1, column injectors: injector \"8\" is listed"},
		{"wide reading", "# reading = flow\npulse_ms,period_ms,shots,pressure_kpa,voltage_v,7\n2.5,10,3000,300,13.5,64\n", "line 1, column reading: \"flow\" is nothing…volume_ml"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := bench.Read(strings.NewReader(c.text), "b.csv")
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(bench.Sheet{}, s, listed); diff != "" {
				t.Errorf("the sheet is not zero: %s", diff)
			}
			if len(errorsOf(t, err)) != 1 && c.name != "setup in two units" && c.name != "setup twice" && c.name != "both decimal signs" && c.name != "thousands in setup" {
				t.Errorf("want one error, got:\n%v", err)
			}
			if !says(err.Error(), c.want) {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

// says tells whether a message has the parts of want, divided by …, in this order.
func says(message, want string) bool {
	for _, part := range strings.Split(want, "…") {
		_, rest, ok := strings.Cut(message, part)
		if !ok {
			return false
		}
		message = rest
	}
	return true
}

// TestReadWideListed: a list of the injectors lets them have any name.
func TestReadWideListed(t *testing.T) {
	s := read(t, "# injectors = slots, R10; \"flow_ml\", temp\npulse_ms,period_ms,shots,pressure_kpa,voltage_v,slots,R10,flow_ml,temp\n2.5,10,3000,300,13.5,1,2,3,4\n")
	var ids []string
	for _, r := range s.Readings.All() {
		ids = append(ids, r.Injector)
	}
	if diff := cmp.Diff([]string{"slots", "R10", "flow_ml", "temp"}, ids); diff != "" {
		t.Error(diff)
	}
}

// TestReadAllErrors: a mechanic mends all at once, up to twenty.
func TestReadAllErrors(t *testing.T) {
	_, err := bench.Read(strings.NewReader(head+"7,x,10,3000,64.5,300,13.5\n8,2.5,y,z,64.5,300,13.5\n"), "b.csv")
	if n := len(errorsOf(t, err)); n != 3 {
		t.Errorf("got %d errors, want 3: %v", n, err)
	}
	_, err = bench.Read(strings.NewReader(head+strings.Repeat("7,x,10,3000,64.5,300,13.5\n", 1000)), "b.csv")
	if n := len(errorsOf(t, err)); n != 21 || !says(err.Error(), "line 21…stopped after 20 errors") {
		t.Errorf("got %d errors: %v", n, err)
	}
}

func TestReadBroken(t *testing.T) {
	_, err := bench.Read(iotest.ErrReader(io.ErrUnexpectedEOF), "b.csv")
	if err == nil || !says(err.Error(), "b.csv: the file can't be read") {
		t.Errorf("got %v", err)
	}
}

func TestBadFiles(t *testing.T) {
	files, err := filepath.Glob("../../testdata/bench/bad/*")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if _, err := bench.Read(f, file); err == nil || !strings.HasPrefix(err.Error(), file) {
			t.Errorf("%s: %v", file, err)
		}
	}
}
