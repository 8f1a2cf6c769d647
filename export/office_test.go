package export

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"injtab/fit/diag/diagtest"
)

// program finds a program that a test drives. Where it is absent the test is
// skipped, unless CI_REQUIRE=1 says that nothing may be.
func program(t *testing.T, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI_REQUIRE") == "1" {
		t.Fatalf("%s is not installed and CI_REQUIRE=1 asks for it", names[0])
	}
	t.Skipf("%s is not installed", names[0])
	return ""
}

// office converts a workbook and gives the folder of what came out.
func office(t *testing.T, workbook []byte, to string) string {
	t.Helper()
	soffice, dir := program(t, "soffice", "libreoffice"), t.TempDir()
	mustWrite(t, filepath.Join(dir, "book.xlsx"), string(workbook))
	cmd := exec.Command(soffice, "--headless", "-env:UserInstallation=file://"+dir+"/profile", "--convert-to", to, "--outdir", dir+"/out", dir+"/book.xlsx")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return filepath.Join(dir, "out")
}

// allSheets is LibreOffice's filter for one CSV a sheet: comma, quotes, UTF-8,
// numbers with all digits.
const allSheets = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"

// LibreOffice calculates the formulas itself, with no stored value to lean on, and
// comes to what Go does. Its grids hold what the CSV files hold.
func TestLibreOfficeCalculatesTheSame(t *testing.T) {
	calc := sampleCalculation()
	known := map[string]Entry{}
	for i, e := range calc.Entries {
		if e.Value != nil {
			e.Number = e.Value(known)
			calc.Entries[i].Value = nil
		}
		known[e.Name] = e
	}
	out := office(t, workbookOf(t, sampleReport(), calc), allSheets)
	checked := 0
	for _, l := range diagtest.ReadCSV(t, filepath.Join(out, "book-fuel to pulse.csv")) {
		for _, e := range calc.Entries {
			if e.Formula != "" && len(l) > 1 && l[0] == e.Label && sameText(l[1], strconv.FormatFloat(known[e.Name].Number, 'g', -1, 64)) {
				checked++
				break
			}
		}
	}
	if want := 16; checked != want {
		t.Errorf("%d of %d formulas agree: %q", checked, want, diagtest.ReadCSV(t, filepath.Join(out, "book-fuel to pulse.csv")))
	}
	for _, table := range []string{"flow", "dead_time", "deviation", "trims"} {
		got := diagtest.ReadCSV(t, filepath.Join(out, "book-"+table+".csv"))[headRow-1:]
		for i, want := range diagtest.ReadCSV(t, filepath.Join("..", "testdata", "golden", "export", table+".csv")) {
			for k := range want {
				if !sameText(got[i][k], want[k]) {
					t.Errorf("%s line %d: got %q, want %q", table, i+1, got[i][k], want[k])
				}
			}
		}
	}
}

// sameText tells whether two texts are equal, as numbers where both are.
func sameText(a, b string) bool {
	x, _, okX := sheet{}.number(a)
	y, _, okY := sheet{}.number(b)
	return a == b || okX && okY && math.Abs(x-y) < 1e-9
}

func TestLibreOfficePrintsTheWorkbook(t *testing.T) {
	totext := program(t, "pdftotext")
	out := office(t, workbookOf(t, sampleReport(), sampleCalculation()), "pdf")
	text, err := exec.Command(totext, "-layout", filepath.Join(out, "book.pdf"), "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Four of six injectors agree within 1.9 %", "do not rely on the cells marked unreliable", "7.3395", "Dead time (lines: pressure, kPa)", "crossed out, empty: does not open", "keep an extinguisher within reach", "Page 1 of"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the print does not say %q", want)
		}
	}
	for _, bad := range []string{"#NAME?", "#VALUE!", "#REF!", "Err:", "###"} {
		if strings.Contains(string(text), bad) {
			t.Errorf("the print shows %s", bad)
		}
	}
}

func TestLibreOfficeRunsNoHostileText(t *testing.T) {
	out := office(t, workbookOf(t, hostileReport()), allSheets)
	var first []string
	for _, l := range diagtest.ReadCSV(t, filepath.Join(out, "book-deviation.csv")) {
		first = append(first, l[0])
	}
	all := strings.Join(first, "\n")
	for _, h := range []string{`=HYPERLINK("http://127.0.0.1/","x")`, "+1+1", "-2+3", "@SUM(A1)", "'7"} {
		if !strings.Contains(all, "\n"+h+"\n") {
			t.Errorf("%q is not shown as it is in %.400q", h, all)
		}
	}
}
