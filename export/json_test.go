package export

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"
	"unicode/utf8"
)

func TestJSONIsOneIndentedDocument(t *testing.T) {
	var buf bytes.Buffer
	v := struct {
		Name string   `json:"name"`
		Null *float64 `json:"flow_exponent"`
	}{"<b> & \"7\"", nil}
	if err := JSON(&buf, v); err != nil {
		t.Fatal(err)
	}
	want := "{\n  \"name\": \"<b> & \\\"7\\\"\",\n  \"flow_exponent\": null\n}\n"
	if buf.String() != want {
		t.Errorf("got %s", buf.String())
	}
}

func TestJSONRefusesWhatIsNoNumber(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1)} {
		var buf bytes.Buffer
		if err := JSON(&buf, map[string]float64{"x": x}); err == nil || buf.Len() > 0 {
			t.Errorf("%v: error %v after %d bytes", x, err, buf.Len())
		}
	}
}

func TestHostileTextsSurviveJSON(t *testing.T) {
	for _, h := range hostile {
		var buf bytes.Buffer
		if err := JSON(&buf, h); err != nil {
			t.Fatal(err)
		}
		if i := bytes.IndexFunc(buf.Bytes()[:buf.Len()-1], func(r rune) bool { return r != '\n' && hidden(r) }); i >= 0 {
			t.Errorf("a character that is not seen is written for %q", h)
		}
		var back string
		if err := json.Unmarshal(buf.Bytes(), &back); err != nil || back != h && utf8.ValidString(h) {
			t.Errorf("%q came back as %q (%v)", h, back, err)
		}
	}
}
