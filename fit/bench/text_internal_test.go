package bench

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// beyondWindow is a bench file of several windows.
func beyondWindow() string {
	var b strings.Builder
	b.WriteString("injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,note\n")
	for i := range 20000 {
		fmt.Fprintf(&b, "%d,%g,20,1000,%.1f,300,13.5,\n", i%7, 2+float64(i%5), 8.1+float64(i%90)/10)
	}
	return b.String()
}

// TestReadTwice: a file that lies there, read twice through a window, gives what the
// same bytes give that come once; letters and quotation marks at the border of the
// window too.
func TestReadTwice(t *testing.T) {
	const row = "1,2,20,1000,8,300,13.5,"
	plain := beyondWindow()
	at := strings.LastIndexByte(plain[:windowSize-40], '\n') + 1 // a row before the border
	for _, remark := range []string{"µ", "€", "😀", `"a ""b"""`} {
		for shift := -5; shift <= 1; shift++ {
			fill := strings.Repeat(" ", windowSize+shift-at-len(row)) // so that the remark is at the border
			same(t, plain[:at]+row+fill+remark+"\n"+plain[at:])
		}
	}
	same(t, strings.ReplaceAll(plain, "\n", "\r")) // line ends of old
	same(t, "\uFEFF"+strings.ReplaceAll(plain, "\n", "\r\n"))
}

// same reads a text as a file, from memory and as a stream.
func same(t *testing.T, text string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "b.csv")
	if err := os.WriteFile(path, []byte("skipped"+text), 0o644); err != nil {
		t.Fatal(err)
	}
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if _, err := file.Seek(int64(len("skipped")), io.SeekStart); err != nil {
		t.Fatal(err)
	}
	want, err := Read(strings.NewReader(text), "b.csv")
	if err != nil || want.Readings.Len() < 20000 {
		t.Fatalf("%d readings, %v", want.Readings.Len(), err)
	}
	for name, in := range map[string]io.Reader{"file": file, "memory": bytes.NewReader([]byte(text))} {
		got, err := Read(in, "b.csv")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmp.Transformer("list", Readings.List)); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// TestShortened: a file that becomes shorter between the two times it is read is refused.
func TestShortened(t *testing.T) {
	text := beyondWindow()
	in := io.NewSectionReader(strings.NewReader(text), 0, int64(len(text)))
	s, err := look(in)
	if err != nil {
		t.Fatal(err)
	}
	p := &parser{file: "b.csv", most: MaxBytes, collect: func() collector { return collector{} }}
	src, err := open(p, io.NewSectionReader(strings.NewReader(text[:len(text)/2]), 0, int64(len(text))), s)
	if err != nil {
		t.Fatal(err)
	}
	p.read(src)
	if err := p.err(); err == nil || !strings.Contains(err.Error(), "became shorter") {
		t.Errorf("%d readings, error %v", len(p.readings.rows), err)
	}
}

// TestRegister: names are numbered as they come, whichever way they are looked up.
func TestRegister(t *testing.T) {
	var r register
	seen := map[string]int32{}
	for _, name := range strings.Fields("1 2 10 a 11 2 07 7 7 07 0 -3 +4 4 10 99999999999 a 12 0x1 3 12 1") {
		want, known := seen[name]
		if !known {
			want = int32(len(seen))
			seen[name] = want
		}
		if got := r.number(name); got != want {
			t.Errorf("%s is number %d, want %d", name, got, want)
		}
	}
}

// TestSectionFromHere: of an input that was read in part, the rest is taken.
func TestSectionFromHere(t *testing.T) {
	in := io.NewSectionReader(strings.NewReader("above\nbelow"), 0, 11)
	if _, err := io.CopyN(io.Discard, in, 6); err != nil {
		t.Fatal(err)
	}
	s, err := sectionOf(in, MaxBytes)
	if err != nil {
		t.Fatal(err)
	}
	if rest, err := io.ReadAll(s); err != nil || string(rest) != "below" {
		t.Errorf("%q, %v", rest, err)
	}
}
