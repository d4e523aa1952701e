package assign

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// draw makes costs, a share of them forbidden.
func draw(r *rand.Rand, rows, columns int, never float64, greatest int64) [][]int64 {
	cost := make([][]int64, rows)
	for i := range cost {
		cost[i] = make([]int64, columns)
		for j := range cost[i] {
			cost[i][j] = r.Int64N(greatest + 1)
			if r.Float64() < never {
				cost[i][j] = Never
			}
		}
	}
	return cost
}

// tryAll tries every matching: how many rows can be served, and at what least cost.
func tryAll(cost [][]int64, i int, used []bool) (served int, least int64) {
	if i == len(cost) {
		return 0, 0
	}
	served, least = tryAll(cost, i+1, used) // row i left out
	for j, c := range cost[i] {
		if c == Never || used[j] {
			continue
		}
		used[j] = true
		n, sum := tryAll(cost, i+1, used)
		used[j] = false
		if n+1 > served || n+1 == served && sum+c < least {
			served, least = n+1, sum+c
		}
	}
	return served, least
}

// missing is by how many columns some rows fall short of their number: the
// deficiency of P. Hall's and O. Ore's theorems.
func missing(cost [][]int64, rows []int) int {
	columns := map[int]bool{}
	for _, i := range rows {
		for j, c := range cost[i] {
			if c != Never {
				columns[j] = true
			}
		}
	}
	return len(rows) - len(columns)
}

// TestEveryMatchingTried holds 500 small random cases to a trial of every
// matching, and their explanations to every set of rows.
func TestEveryMatchingTried(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	short := 0
	for n := range 500 {
		rows, columns := 1+r.IntN(6), r.IntN(7)
		cost := draw(r, rows, columns, []float64{0, 0.3, 0.6, 0.8}[n%4], []int64{3, 50, 1 << 38}[n%3])
		got, err := Solve(cost)
		if err != nil {
			t.Fatal(err)
		}
		served, least := tryAll(cost, 0, make([]bool, columns))
		n, sum := 0, int64(0)
		taken := map[int]bool{}
		for i, j := range got.To {
			if j < 0 {
				continue
			}
			if taken[j] || cost[i][j] == Never {
				t.Fatalf("row %d has column %d, which is taken or forbidden: %v of %v", i, j, got.To, cost)
			}
			taken[j] = true
			n, sum = n+1, sum+cost[i][j]
		}
		if n != served || sum != least || got.Cost != sum {
			t.Fatalf("%d rows at %d (said %d), the best is %d at %d: %v", n, sum, got.Cost, served, least, cost)
		}
		short += len(got.Short)
		checkShort(t, cost, got, rows-served)
	}
	if short < 100 {
		t.Errorf("only %d explanations were looked at", short)
	}
}

func checkShort(t *testing.T, cost [][]int64, got Answer, left int) {
	t.Helper()
	sum := 0
	seen := map[int]bool{}
	for _, s := range got.Short {
		sum += s.Missing
		if missing(cost, s.Rows) != s.Missing || len(s.Rows)-len(s.Columns) != s.Missing || len(s.Left) != s.Missing {
			t.Fatalf("%+v of %v: rows fall short by %d", s, cost, missing(cost, s.Rows))
		}
		for i := range s.Rows {
			if seen[s.Rows[i]] {
				t.Fatalf("row %d stands in two explanations: %+v", s.Rows[i], got.Short)
			}
			seen[s.Rows[i]] = true
		}
		for mask := range 1<<len(s.Rows) - 1 { // every proper part of it
			var part []int
			for k, i := range s.Rows {
				if mask>>k&1 == 1 {
					part = append(part, i)
				}
			}
			if missing(cost, part) >= s.Missing {
				t.Fatalf("%v alone lack %d of %d: %+v is not the smallest", part, missing(cost, part), s.Missing, s)
			}
		}
	}
	if sum != left {
		t.Fatalf("%d rows are left out, %d explained: %v", left, sum, cost)
	}
}

// TestAgainstSciPy holds large cases to scipy.optimize.linear_sum_assignment.
func TestAgainstSciPy(t *testing.T) {
	const script = `import json, sys
import numpy as np
from scipy.optimize import linear_sum_assignment
out = []
for c in json.load(sys.stdin):
    c = np.array(c, dtype=float)
    a, b = linear_sum_assignment(c)
    out.append(int(c[a, b].sum()))
print(json.dumps(out))`
	r := rand.New(rand.NewPCG(3, 4))
	var all [][][]int64
	for _, size := range [][2]int{{40, 40}, {90, 130}, {150, 170}, {120, 80}} {
		all = append(all, draw(r, size[0], size[1], 0, 100000))
	}
	in, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("/usr/bin/python3", "-c", script)
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("python3 with SciPy does not run: %v", err)
		}
		t.Skipf("python3 with SciPy does not run here: %v", err)
	}
	var want []int64
	if err := json.Unmarshal(out, &want); err != nil {
		t.Fatal(err)
	}
	for i, cost := range all {
		got, err := Solve(cost)
		if err != nil || got.Cost != want[i] {
			t.Errorf("%d by %d: %d points, SciPy %d (%v)", len(cost), len(cost[0]), got.Cost, want[i], err)
		}
	}
}

// TestSameCostsSameAnswer solves a case full of ties twice.
func TestSameCostsSameAnswer(t *testing.T) {
	cost := draw(rand.New(rand.NewPCG(5, 6)), 60, 70, 0.5, 2)
	a, _ := Solve(cost)
	b, _ := Solve(cost)
	if !slices.Equal(a.To, b.To) {
		t.Errorf("%v, then %v", a.To, b.To)
	}
}

func TestRefusals(t *testing.T) {
	for name, cost := range map[string][][]int64{
		"a negative cost":    {{1, -1}},
		"a cost beyond sums": {{1 << 41}},
		"rows of two sizes":  {{1, 2}, {1}},
	} {
		if a, err := Solve(cost); err == nil {
			t.Errorf("%s: %+v", name, a)
		}
	}
	if a, err := Solve(nil); err != nil || len(a.To) != 0 {
		t.Errorf("nothing to match: %+v, %v", a, err)
	}
	if a, err := Solve([][]int64{{}, {}}); err != nil || len(a.Short) != 2 || a.Short[0].Missing != 1 {
		t.Errorf("two rows and no column: %+v, %v", a, err)
	}
}

// BenchmarkSolve matches 150 rows to 170 columns, a tenth of the pairs allowed.
func BenchmarkSolve(b *testing.B) {
	cost := draw(rand.New(rand.NewPCG(7, 8)), 150, 170, 0.9, 1000)
	for b.Loop() {
		if _, err := Solve(cost); err != nil {
			b.Fatal(err)
		}
	}
}
