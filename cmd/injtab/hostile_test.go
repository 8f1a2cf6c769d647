package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/diag/diagtest"
)

// hostileNames are injectors' names that want to be obeyed instead of shown.
var hostileNames = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `&lt;b&gt;`, `]]>`, `<!--`, `{{.Title}}`,
	`=HYPERLINK("http://example.org";"x")`, `+1+1`, `-2+3`, `@SUM(A1)`, `'=1+1`, `''`, `1e5`, `#REF!`,
	"\x1b[31mred\x1b[0m", "\x1b]0;title\x07", "\u009b31m", "over\b\b\b\b",
	`../../up`, `/etc/passwd`, `..\..\up`, `C:\up`, `CON`, `..`, `-o`, `$(id)`, `%s%n`,
	"\u202Egnp.exe", "\u2066over\u2069", "a\u200Bb", "ab", "\U000E0041b", "\u3164",
	`[x](javascript:alert(1))`, `a|b`, `# a`, `a,b;c"d`, "two\nlines", "NaN", "Inf",
	strings.Repeat("long ", 2000) + "x", strings.Repeat("long ", 2000) + "y",
}

// plainNames are as many that nobody could mistake.
func plainNames() []string {
	names := make([]string, len(hostileNames))
	for i := range names {
		names[i] = fmt.Sprintf("N%02d", i)
	}
	return names
}

// namedBench is a session of injectors with these names; its other texts are the
// first of them.
func namedBench(t *testing.T, names []string) []byte {
	t.Helper()
	var b bytes.Buffer
	fmt.Fprintf(&b, "# title = %s\n# driver = %s\n# fluid = n-heptane\n# period_ms = 20\n# shots = 2000\n", names[0], names[1])
	w := csv.NewWriter(&b)
	w.Write([]string{"injector", "pulse_ms", "volume_ml", "pressure_kpa", "voltage_v", "note", "vessel"})
	for i, name := range names {
		if strings.HasPrefix(name, "#") || strings.HasPrefix(name, "'=") {
			name = "'" + name // as the file's rules ask
		}
		for _, p := range []float64{2, 4, 8} {
			flow := 0.0052 * (1 + 0.002*float64(i%7)) // ml/ms
			w.Write([]string{name, fmt.Sprint(p), fmt.Sprintf("%.2f", 2000*flow*(p-0.8)), "300", "13.5", names[2], names[3]})
			if i == 0 {
				w.Write([]string{name, fmt.Sprint(p), fmt.Sprintf("%.2f", 2000*flow*(p-1.1)), "300", "11", names[2], names[3]})
				w.Write([]string{name, fmt.Sprint(p), fmt.Sprintf("%.2f", 2000*flow*1.1*(p-0.85)), "363", "13.5", names[2], names[3]})
			}
		}
	}
	w.Flush()
	return b.Bytes()
}

// hostileJobs are commands over all verbs that read a bench file or are given names;
// what they write has its folder's or file's name in every one of them.
func hostileJobs(bench string, ids []string) (list [][]string) {
	list = [][]string{
		{"tables", bench, "-o", "tables", "--fuel", "gasoline"}, {"tables", bench, "-o", "each", "--each", "--of", "3", "--json"},
		{"report", bench, "-o", "page.html", "--plots", "pictures", "--of", "4", "--markdown"}, {"report", bench, "--json"},
		{"match", bench, "--of", "4", "-o", "match.xlsx"}, {"tables", bench, "--print", "trims"},
	}
	for _, c := range [][]string{
		{"check", bench, "--full"}, {"fit", bench, "--full"}, {"fit", bench, "--residuals"}, {"match", bench, "--of", "4", "--sets", "2", "--full"},
		{"verify", "tables", bench, "--full"}, {"compare", bench, bench},
		{"headroom", "--bench", bench, "--power", "100kW", "--cylinders", "4", "--rpm", "6000", "--fuel", "gasoline", "--full"},
	} {
		for _, form := range []string{"--ascii", "--markdown", "--json", "--csv"} {
			list = append(list, append(slices.Clone(c), form))
		}
		list = append(list, c)
	}
	var quoted bytes.Buffer
	w := csv.NewWriter(&quoted)
	w.Write(ids)
	w.Flush()
	plan := []string{"plan", "--purpose", "match", "--injectors", strings.TrimSuffix(quoted.String(), "\n"), "--title", ids[0], "--slots", "4", "--flow", "300ml/min", "--vessel", "100ml"}
	return append(list, append(slices.Clone(plan), "-o", "form.csv"), append(slices.Clone(plan), "-o", "form.xlsx", "--json"), append(slices.Clone(plan), "--markdown"))
}

// TestHostileNames runs every verb on a session whose injectors, title, notes and
// file are named to do harm, and looks into all that is shown and written.
func TestHostileNames(t *testing.T) {
	t.Chdir(t.TempDir())
	work := func(folder, bench string, names []string) {
		t.Helper()
		if err := os.Mkdir(folder, 0o777); err != nil {
			t.Fatal(err)
		}
		t.Chdir(folder)
		defer t.Chdir("..")
		put(t, bench, namedBench(t, names))
		for _, args := range hostileJobs(bench, names) {
			got := say(args...)
			if got.code != done {
				t.Errorf("%.60q: exit %d, %.500s", args, got.code, got.err)
				continue
			}
			safe(t, fmt.Sprintf("%.60q", args), formOf(args), got.out, names)
			safe(t, fmt.Sprintf("messages of %.60q", args), "text", got.err, nil)
		}
		walk(t, ".", func(path string, data []byte) {
			if path != bench {
				safe(t, path, strings.TrimPrefix(filepath.Ext(path), "."), string(data), nil)
			}
		})
	}
	work("plain", "bench.csv", plainNames())
	work("hostile", "=b<i>\x1b[31m\u202E.csv", hostileNames)
	if left, err := os.ReadDir("."); err != nil || len(left) != 2 {
		t.Errorf("written outside the folder: %v, %v", left, err)
	}
	sameSkeleton(t, "plain", "hostile")
	sameIdentity(t, filepath.Join("hostile", "tables", "trims.csv"), hostileNames)
	sameIdentity(t, filepath.Join("hostile", "form.csv"), hostileNames)
}

// formOf is the form of what a command prints.
func formOf(args []string) string {
	switch {
	case slices.Contains(args, "--json"):
		return "json"
	case slices.Contains(args, "--csv"):
		return "csv"
	case slices.Contains(args, "--markdown"):
		return "md"
	case slices.Contains(args, "--print"):
		return "tsv"
	}
	return "text"
}

func walk(t *testing.T, dir string, see func(path string, data []byte)) {
	t.Helper()
	for path := range listing(t, dir) {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		see(path, data)
	}
}

var (
	block     = regexp.MustCompile(`(?m)^    .*$`)                 // charts: shown as they stand
	markup    = regexp.MustCompile(`(?m)(^|[^\\])<[a-zA-Z/!][^+]`) // <U+202E> is what a character was made
	reference = regexp.MustCompile(`(^|[^\\])\[[^\]]*\]\(`)
	runnable  = regexp.MustCompile(`^[=+@\t\r-]`)
	digits    = regexp.MustCompile(`^-?[0-9][0-9.]*(e-?[0-9]+)?$`)
)

// safe looks for what a reader of this form would obey.
func safe(t *testing.T, where, form, text string, names []string) {
	t.Helper()
	if form == "png" || form == "xlsx" {
		return // sameSkeleton looks into workbooks
	}
	if r := firstObeyed(text); r >= 0 && form != "csv" && form != "tsv" {
		t.Errorf("%s has the character %U", where, r)
	}
	switch form {
	case "md":
		text = block.ReplaceAllString(text, "")
		for _, harm := range []*regexp.Regexp{markup, reference} {
			if found := harm.FindString(text); found != "" {
				t.Errorf("%s has %q", where, found)
			}
		}
	case "json":
		if !json.Valid([]byte(text)) {
			t.Errorf("%s is no JSON", where)
		}
	case "csv":
		for _, cell := range cellsOf(t, where, text) {
			if runnable.MatchString(cell) && !digits.MatchString(cell) {
				t.Errorf("%s has the cell %.40q", where, cell)
			}
		}
	}
}

// firstObeyed is the first character that a terminal would obey or that shows nothing;
// -1 without one.
func firstObeyed(text string) rune {
	if i := strings.IndexFunc(text, func(r rune) bool {
		return r != '\n' && !unicode.IsPrint(r) && !unicode.Is(unicode.Zs, r) || r == '\u3164' || r == utf8.RuneError
	}); i >= 0 {
		r, _ := utf8.DecodeRuneInString(text[i:])
		return r
	}
	return -1
}

func cellsOf(t *testing.T, where, text string) (cells []string) {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	records, err := r.ReadAll()
	if err != nil {
		t.Errorf("%s: %v", where, err)
	}
	return slices.Concat(records...)
}

// sameIdentity demands every name among the cells, but for the apostrophe that keeps
// a spreadsheet from running it.
func sameIdentity(t *testing.T, path string, names []string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	have := map[string]bool{}
	for _, cell := range cellsOf(t, path, string(data)) {
		have[cell] = true
		have[strings.TrimPrefix(cell, "'")] = true
	}
	for _, name := range names {
		if !have[name] {
			t.Errorf("%s has lost %.40q", path, name)
		}
	}
}

// sameSkeleton demands that pages, pictures and workbooks have the same elements,
// attributes and formulas whatever the injectors are called.
func sameSkeleton(t *testing.T, plain, hostile string) {
	t.Helper()
	files := 0
	for path := range listing(t, plain) {
		ext := filepath.Ext(path)
		if ext != ".html" && ext != ".svg" && ext != ".xlsx" {
			continue
		}
		files++
		rest, _ := filepath.Rel(plain, path)
		if diff := cmp.Diff(skeleton(t, path), skeleton(t, filepath.Join(hostile, rest))); diff != "" {
			t.Errorf("%s (-plain +hostile):\n%.2000s", rest, diff)
		}
	}
	if files < 8 {
		t.Errorf("only %d files were compared", files)
	}
}

var (
	tag     = regexp.MustCompile(`<[a-zA-Z/!?][^<>]*>`)
	fitted  = regexp.MustCompile(` (textLength|lengthAdjust)=`) // of texts that are too long for their place
	value   = regexp.MustCompile(`="[^"]*"`)
	formula = regexp.MustCompile(`<f[ >].*?</f>|<formula[0-9]?>.*?</formula[0-9]?>`)
)

// skeleton are the kinds of tags of a page or a picture, or the formulas of a workbook
// with how often each is there.
func skeleton(t *testing.T, path string) map[string]int {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]int{}
	if filepath.Ext(path) != ".xlsx" {
		for _, found := range tag.FindAllString(string(data), -1) {
			kinds[fitted.ReplaceAllString(value.ReplaceAllString(found, "="), "")] = 1
		}
		return kinds
	}
	for name, part := range diagtest.Unzip(t, data) {
		for _, found := range formula.FindAllString(part, -1) {
			kinds[name+" "+found]++
		}
	}
	return kinds
}
