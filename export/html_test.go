package export

import (
	"bytes"
	"math"
	"regexp"
	"strings"
	"testing"

	"injtab/tables"
)

func pageOf(t testing.TB, r tables.Report) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := Page(&buf, r); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestPageGolden(t *testing.T) {
	p := pageOf(t, sampleReport())
	main := regexp.MustCompile(`(?s)<main>.*</main>`).Find(p)
	golden(t, "report.html", append(main, '\n'))
}

func TestPageNeedsNothingElse(t *testing.T) {
	for _, r := range []tables.Report{sampleReport(), hostileReport()} {
		p := string(pageOf(t, r))
		tags := regexp.MustCompile(`(title|data-value|aria-label)="[^"]*"`).ReplaceAllString(p, "")
		if found := regexp.MustCompile(`(?i)<(link|img|iframe|object|embed|form|base)\b|<[^>]*\ssrc=|<[^>]*\shref="[^#]|@import|url\(`).FindAllString(tags, -1); found != nil {
			t.Errorf("the page refers to other things: %q", found)
		}
		if n := strings.Count(p, "<script"); n != 1 {
			t.Errorf("%d scripts", n)
		}
		if i := strings.IndexFunc(p, func(r rune) bool { return r != '\n' && hidden(r) }); i >= 0 {
			t.Errorf("a hidden character in %q", p[max(i-20, 0):i+4])
		}
	}
}

func TestPageHasTheSameBytesEachTime(t *testing.T) {
	first := pageOf(t, hostileReport())
	for range 4 {
		if !bytes.Equal(first, pageOf(t, hostileReport())) {
			t.Fatal("two runs differ")
		}
	}
}

func TestPageAnchorsStandOnce(t *testing.T) {
	r := sampleReport()
	r.Sections = append(r.Sections, r.Sections...)
	r.Sections[0].Name, r.Sections[1].Name, r.Sections[2].Name = "answer", "", `"><b>`
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(string(pageOf(t, r)), -1) {
		if seen[m[1]] || !regexp.MustCompile(`^[a-z0-9-]+$`).MatchString(m[1]) {
			t.Errorf("anchor %q", m[1])
		}
		seen[m[1]] = true
	}
}

func TestCopiedTextsDoNotRun(t *testing.T) {
	p := string(pageOf(t, hostileReport()))
	for _, m := range regexp.MustCompile(`class="text" data-value="(=|\+|@|&#43;)[^"]*"`).FindAllString(p, -1) {
		t.Errorf("a spreadsheet would run %.60s when pasted", m)
	}
	if !strings.Contains(p, `data-value="&#39;@SUM(A1)"`) {
		t.Error("the guarded text is missing")
	}
}

func TestPageRefusesBrokenNumbers(t *testing.T) {
	r := sampleReport()
	r.Sections[2].Charts[0].Series[0].Y[0] = math.NaN()
	wantError(t, Page(&bytes.Buffer{}, r), "not a finite number")
}

func BenchmarkPage(b *testing.B) {
	r := sampleReport()
	for b.Loop() {
		pageOf(b, r)
	}
}
