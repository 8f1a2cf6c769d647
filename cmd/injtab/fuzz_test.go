package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"injtab/fit/diag/diagtest"
)

// programmers is what only they would read.
var programmers = regexp.MustCompile(`strconv\.|0x[0-9a-f]{6}|goroutine|runtime error|%!`)

// FuzzFlags gives any text to any flag of any verb: it is taken, or refused with the
// flag's name and words that people read.
func FuzzFlags(f *testing.F) {
	for i, text := range []string{"1=7,2=3", "6=2%", "0.05ms,0.5V,10kPa", "1.5ms=3,13.8V=2", `3,7,"B, left"`, "8..16V by 1V", "200,250,300kPa",
		"80%", "2,4bar", "8", "-1", "", "=", "0..1e308V by 1e-300V", "1=1,1=2", "9e99", "true", "5s", "1-5-3-6-2-4", "2ms, 10ms 300kPa, open"} {
		for step := range 40 {
			f.Add(uint16(7*i+11*step), text)
		}
	}
	flags := allFlags()
	f.Fuzz(func(t *testing.T, choice uint16, text string) {
		at := flags[int(choice)%len(flags)]
		diagtest.Bounded(t, len(text), func() {
			err := at.verb.ParseFlags([]string{"--" + at.flag + "=" + text})
			if err == nil {
				return
			}
			said := flagError(at.verb, err).Error()
			ours := strings.NewReplacer(strconv.Quote(text), "", text, "").Replace(said)
			if !strings.HasPrefix(said, "--"+at.flag+": ") || programmers.MatchString(ours) && !programmers.MatchString(text) {
				t.Errorf("--%s=%s: %s", at.flag, text, said)
			}
		})
	})
}

// A flagOf is a flag of a verb.
type flagOf struct {
	verb *cobra.Command
	flag string
}

func allFlags() (all []flagOf) {
	for _, verb := range new(app).root().Commands() {
		verb.Flags().VisitAll(func(f *pflag.Flag) { all = append(all, flagOf{verb, f.Name}) })
	}
	return all
}

// jobs are what is done with a bench file from end to end.
var jobs = [][]string{
	{"check", "-", "--json"}, {"fit", "-", "--json"}, {"match", "-", "--of", "2", "--json"}, {"tables", "-", "--print", "dead_time"},
	{"tables", "-", "--print", "short_pulse", "--assume"}, {"report", "-", "--markdown"},
}

// FuzzJobs does whole jobs with any small bench file: there is a result of numbers
// alone, or an error that names the file.
func FuzzJobs(f *testing.F) {
	files, err := filepath.Glob("../../testdata/bench/good/*")
	if err != nil || len(files) == 0 {
		f.Fatalf("%d files, %v", len(files), err)
	}
	texts := []string{"injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n" +
		"A,2,10,1000,5.2,300,12\nA,4,10,1000,14.8,300,12\nA,8,10,1000,34.1,300,12\nA,4,10,1000,13.5,300,10\nA,10,10,1000,45,300,12\n" +
		"B,2,10,1000,5.3,300,12\nB,4,10,1000,14.9,300,12\nB,8,10,1000,34.0,300,12\nB,4,10,1000,13.4,300,10\nB,10,10,1000,45,300,12\n"}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	for _, text := range texts {
		for job := range jobs {
			f.Add(uint8(job), text)
		}
	}
	f.Fuzz(func(t *testing.T, job uint8, text string) {
		if len(text) > 4000 {
			return // many readings take long for a good reason
		}
		diagtest.Bounded(t, len(text), func() { mustDo(t, jobs[int(job)%len(jobs)], text) })
	})
}

var noNumber = regexp.MustCompile(`\bNaN\b|[+-]Inf\b`)

func mustDo(t *testing.T, args []string, text string) {
	var out, err bytes.Buffer
	code := run(args, strings.NewReader(text), &out, &err)
	said := err.String()
	switch {
	case code == done && args[len(args)-1] == "--json" && !json.Valid(out.Bytes()):
		t.Errorf("%v: no JSON: %s", args, &out)
	case code != done && !strings.Contains(said, "injtab: error: "):
		t.Errorf("%v: exit code %d and %q", args, code, said)
	case programmers.MatchString(said):
		t.Errorf("%v: %s", args, said)
	case !noNumber.MatchString(text) && noNumber.MatchString(out.String()+said):
		t.Errorf("%v: no number: %s %s", args, &out, said)
	}
}
