package export

import (
	"bytes"
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
