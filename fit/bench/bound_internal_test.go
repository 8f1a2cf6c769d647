package bench

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

func TestBoundedLines(t *testing.T) {
	long, short := strings.Repeat("x", maxLine+1), strings.Repeat("y", maxLine-1)
	for name, c := range map[string]struct {
		text string
		line int // of the one that is too long; 0: none is
	}{
		"nothing":          {"", 0},
		"long":             {long, 1},
		"just right":       {short + "\n" + short + "\r" + short + "\r\n" + short, 0},
		"third":            {"a\nb\n" + long + "\nc", 3},
		"after short ones": {short + "\n" + long, 2},
		"packed":           {"PK" + long, 0},
		"no archive":       {"Pulse" + long, 1},
	} {
		for kind, in := range map[string]io.Reader{
			"whole": strings.NewReader(c.text), "pieces": iotest.HalfReader(strings.NewReader(c.text)), "with its end": iotest.DataErrReader(strings.NewReader(c.text)),
		} {
			got, err := io.ReadAll(&bounded{in: in})
			var at longLine
			if errors.As(err, &at); int(at) != c.line || c.line == 0 && (err != nil || string(got) != c.text) {
				t.Errorf("%s, %s: line %d, %d bytes, %v", name, kind, at, len(got), err)
			}
		}
	}
}
