package table_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/table"
)

func plane(x, y table.Axis, f func(x, y float64) float64) table.Grid {
	g := table.New("t", "1", x, y)
	g.Fill(f)
	return g
}

var (
	rows = table.Axis{Name: "speed", Unit: "rpm", At: []float64{500, 800, 1300, 2100, 3400, 5500}}
	cols = table.Axis{Name: "pressure", Unit: "kPa", At: []float64{20, 35, 60, 70, 100}}
)

// A bilinear surface is its own interpolation, by the values of uneven axes.
func TestBetweenGivesABilinearSurfaceBack(t *testing.T) {
	f := func(x, y float64) float64 { return 3 + x/1000 - y/40 + x*y/90000 }
	g := plane(rows, cols, f)
	b := table.Block{Row0: 1, Row1: 4, Col0: 0, Col1: 3}
	hollow := g.Clone()
	for r := b.Row0; r <= b.Row1; r++ {
		for c := b.Col0; c <= b.Col1; c++ {
			if (r != b.Row0 && r != b.Row1) || (c != b.Col0 && c != b.Col1) {
				hollow.Z[g.Cell(r, c)] = 99
			}
		}
	}
	got, err := table.Between(&hollow, b)
	if err != nil {
		t.Fatal(err)
	}
	for i := range g.Z {
		if math.Abs(got.Z[i]-g.Z[i]) > 1e-12 {
			t.Errorf("cell %d: %v, want %v", i, got.Z[i], g.Z[i])
		}
	}
	if _, err := table.Between(&g, table.Block{Row0: 3, Row1: 9}); err == nil {
		t.Error("a block outside the table is taken")
	}
}

// A plane stays; a lone spike is halved, and nothing outside the block moves.
func TestSmooth(t *testing.T) {
	g := plane(rows, cols, func(x, y float64) float64 { return x/100 - y })
	all := table.Block{Row1: 5, Col1: 4}
	got, err := table.Smooth(&g, all)
	if err != nil {
		t.Fatal(err)
	}
	for i := range g.Z {
		if math.Abs(got.Z[i]-g.Z[i]) > 1e-12 {
			t.Errorf("cell %d of a plane moves from %v to %v", i, g.Z[i], got.Z[i])
		}
	}
	spike := g.Clone()
	spike.Z[g.Cell(2, 2)] += 8
	if got, err = table.Smooth(&spike, table.Block{Row0: 2, Row1: 2, Col0: 2, Col1: 2}); err != nil {
		t.Fatal(err)
	}
	for i := range g.Z {
		want := g.Z[i]
		if i == g.Cell(2, 2) {
			want += 4
		}
		if math.Abs(got.Z[i]-want) > 1e-12 {
			t.Errorf("cell %d: %v, want %v", i, got.Z[i], want)
		}
	}
}

func TestPaste(t *testing.T) {
	g := plane(rows, cols, func(x, y float64) float64 { return 0 })
	at := table.Block{Row0: 4, Row1: 4, Col0: 3, Col1: 3}
	got, err := table.Paste(&g, at, "1.5\t(−2)\r\n3\t4e-1\r\n")
	if err != nil {
		t.Fatal(err)
	}
	want := map[int]float64{g.Cell(4, 3): 1.5, g.Cell(4, 4): -2, g.Cell(5, 3): 3, g.Cell(5, 4): 0.4}
	for i, z := range got.Z {
		if z != want[i] {
			t.Errorf("cell %d: %v, want %v", i, z, want[i])
		}
	}
	if got, err = table.Paste(&g, table.Block{Row0: 1, Row1: 2, Col0: 1, Col1: 2}, "7"); err != nil || got.Z[g.Cell(2, 2)] != 7 || got.Z[g.Cell(3, 3)] != 0 {
		t.Errorf("one number over a block: %v %v", got.Z, err)
	}
	for _, c := range []struct{ text, says string }{
		{"1\t2\t3", "1 rows and 3 columns don't fit from row 5 and column 4"},
		{"1\t2\n3", "line 2 has 1 cells, the first has 2"},
		{"1\tabc", `cell 2 of line 1 is "abc"`},
		{"1,5", `cell 1 of line 1 is "1,5"`},
		{"NaN", `cell 1 of line 1 is "NaN"`},
		{"", `cell 1 of line 1 is ""`},
	} {
		if _, err := table.Paste(&g, at, c.text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %q", c.text, err, c.says)
		}
	}
}

func TestDifference(t *testing.T) {
	f := func(x, y float64) float64 { return x/500 + y/20 }
	g := plane(rows, cols, f)
	finer := plane(table.Axis{At: []float64{500, 3000, 5500}}, table.Axis{At: []float64{20, 100}}, func(x, y float64) float64 { return f(x, y) - 0.25 })
	finer.Unit = g.Unit
	d, err := table.Difference(&g, &finer)
	if err != nil {
		t.Fatal(err)
	}
	for i, z := range d.Z {
		if math.Abs(z-0.25) > 1e-12 {
			t.Errorf("cell %d: %v, want 0.25", i, z)
		}
	}
	short := plane(table.Axis{At: []float64{500, 3000}}, cols, f)
	short.Unit = g.Unit
	if _, err := table.Difference(&g, &short); err == nil {
		t.Error("a table that does not reach is taken")
	}
}

// On a plane the lines are straight and lie where the plane has the value.
func TestContoursOfAPlane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "b")
		level := rapid.Float64Range(-400, 400).Draw(t, "level")
		g := plane(rows, cols, func(x, y float64) float64 { return a*x/50 + b*y })
		lines := table.Contours(&g, level)
		if len(lines) > 1 {
			t.Fatalf("%d lines on a plane", len(lines))
		}
		for _, line := range lines {
			for _, p := range line {
				if math.Abs(a*p.X/50+b*p.Y-level) > 1e-9*(1+math.Abs(level)) {
					t.Fatalf("%v is on the line of %v", p, level)
				}
			}
		}
	})
}

// A round hill has one ring at every height, and its area is that of a circle.
func TestContoursOfAHill(t *testing.T) {
	var at []float64
	for i := -40; i <= 40; i++ {
		at = append(at, float64(i)/10)
	}
	g := plane(table.Axis{At: at}, table.Axis{At: at}, func(x, y float64) float64 { return -math.Hypot(x, y) })
	for _, radius := range []float64{0.95, 2.03, 3.33} {
		lines := table.Contours(&g, -radius)
		if len(lines) != 1 {
			t.Fatalf("radius %v: %d lines", radius, len(lines))
		}
		ring := lines[0]
		if ring[0] != ring[len(ring)-1] {
			t.Fatalf("radius %v: the ring is open", radius)
		}
		area := 0.0
		for i := range len(ring) - 1 {
			area += (ring[i].X*ring[i+1].Y - ring[i+1].X*ring[i].Y) / 2
		}
		// 0.5 %: chords of cells a tenth wide
		if want := math.Pi * radius * radius; math.Abs(math.Abs(area)-want) > 0.005*want {
			t.Errorf("radius %v: area %v, want %v", radius, math.Abs(area), want)
		}
	}
}

// A saddle parts its lines by the value in the middle.
func TestContoursOfASaddle(t *testing.T) {
	two := table.Axis{At: []float64{0, 1}}
	g := plane(two, two, func(x, y float64) float64 { return 0 })
	copy(g.Z, []float64{1, 0, 0, 1})
	for _, level := range []float64{0.4, 0.6} {
		lines := table.Contours(&g, level)
		if len(lines) != 2 {
			t.Fatalf("level %v: %d lines", level, len(lines))
		}
		for _, l := range lines {
			middle := table.Place{X: (l[0].X + l[1].X) / 2, Y: (l[0].Y + l[1].Y) / 2}
			// The high corners (0,0) and (1,1) are joined below the middle's 0.5 and cut off above it.
			high := math.Abs(middle.X-middle.Y) < 1e-9
			if high != (level > 0.5) {
				t.Errorf("level %v cuts off a corner near %v", level, middle)
			}
		}
	}
}
