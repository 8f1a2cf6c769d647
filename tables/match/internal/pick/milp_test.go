package pick

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestIntegerProgramAgrees has GLPK, an independent solver, minimise the worst
// span as a mixed-integer program:
//
//	minimise z   with Σ b_i = groups·k, b binary for row and group, each row in
//	one group at most, and for every group and column
//	lo ≤ max − (max − x_i)·b_i,  hi ≥ min + (x_i − min)·b_i,  z ≥ hi − lo.
func TestIntegerProgramAgrees(t *testing.T) {
	solver, err := exec.LookPath("glpsol")
	if err != nil {
		if os.Getenv("CI_REQUIRE") == "1" {
			t.Fatal("glpsol is required here (package glpk-utils) and is not installed")
		}
		t.Skip("glpsol is not installed (package glpk-utils): the integer programs are not solved")
	}
	r := rand.New(rand.NewPCG(19, 20))
	for _, c := range []struct{ n, d, k, groups, count int }{
		{12, 3, 4, 1, 20}, {20, 6, 8, 1, 20}, {30, 2, 6, 1, 10}, {10, 2, 3, 2, 10}, {12, 2, 3, 3, 4},
	} {
		for range c.count {
			m := randomPile(r, kinds[r.IntN(3)], c.n, c.d)
			want := solve(t, solver, program(m, c.k, c.groups))
			got := Best(m, c.k, nil, nil, noLimit()).Worst
			if c.groups > 1 {
				got = Divide(m, c.k, c.groups, nil, nil, noLimit()).Worst
			}
			if diff := float64(got) - want; diff > 0.5 || diff < -0.5 {
				t.Fatalf("%+v: search %d, integer program %v", c, got, want)
			}
		}
	}
}

// program writes the problem in the CPLEX LP format.
func program(m Matrix, k, groups int) string {
	var b, bounds, binary bytes.Buffer
	b.WriteString("Minimize\n obj: z\nSubject To\n")
	for g := range groups {
		fmt.Fprintf(&b, " size%d:", g)
		for i := range m.n {
			fmt.Fprintf(&b, " + b%d_%d", g, i)
			fmt.Fprintf(&binary, " b%d_%d\n", g, i)
		}
		fmt.Fprintf(&b, " = %d\n", k)
		for j := range m.d {
			columnRows(&b, m, g, j)
			fmt.Fprintf(&bounds, " -infinity <= lo%d_%d <= +infinity\n -infinity <= hi%[1]d_%[2]d <= +infinity\n", g, j)
		}
	}
	for i := range m.n {
		fmt.Fprintf(&b, " once%d:", i)
		for g := range groups {
			fmt.Fprintf(&b, " + b%d_%d", g, i)
		}
		b.WriteString(" <= 1\n")
	}
	return b.String() + "Bounds\n" + bounds.String() + "Binary\n" + binary.String() + "End\n"
}

// columnRows ties the ends of column j of a group to its rows.
func columnRows(b *bytes.Buffer, m Matrix, g, j int) {
	low, high := m.row(0)[j], m.row(0)[j]
	for i := range int32(m.n) {
		low, high = min(low, m.row(i)[j]), max(high, m.row(i)[j])
	}
	fmt.Fprintf(b, " span%d_%d: z - hi%[1]d_%[2]d + lo%[1]d_%[2]d >= 0\n", g, j)
	for i := range int32(m.n) {
		x := m.row(i)[j]
		fmt.Fprintf(b, " lo%d_%d_%d: lo%[1]d_%[2]d + %[4]d b%[1]d_%[3]d <= %[5]d\n", g, j, i, high-x, high)
		fmt.Fprintf(b, " hi%d_%d_%d: hi%[1]d_%[2]d - %[4]d b%[1]d_%[3]d >= %[5]d\n", g, j, i, x-low, low)
	}
}

// solve gives the optimum. The report goes to a file of the test.
func solve(t *testing.T, solver, program string) float64 {
	t.Helper()
	dir := t.TempDir()
	problem, report := filepath.Join(dir, "p.lp"), filepath.Join(dir, "report.txt")
	if err := os.WriteFile(problem, []byte(program), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(solver, "--lp", problem, "-o", report, "--tmlim", "60").CombinedOutput()
	if err != nil {
		t.Fatalf("glpsol: %v\n%s", err, out)
	}
	text, err := os.ReadFile(report)
	if err != nil || !strings.Contains(string(text), "INTEGER OPTIMAL") {
		t.Fatalf("glpsol did not reach the optimum: %v\n%s", err, text)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "Objective:  obj = "); ok {
			value, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			if err != nil {
				t.Fatal(err)
			}
			return value
		}
	}
	t.Fatalf("glpsol's report has no objective:\n%s", text)
	return 0
}
