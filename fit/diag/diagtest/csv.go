package diagtest

import (
	"encoding/csv"
	"os"
	"testing"
)

// ReadCSV gives the lines of a file, of any number of cells each.
func ReadCSV(t testing.TB, path string) [][]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.FieldsPerRecord = -1
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return lines
}
