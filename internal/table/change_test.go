package table

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestParseChange(t *testing.T) {
	for _, row := range []struct {
		text string
		from float64
		want float64
	}{
		{"90", 80, 90}, {"+2", 80, 82}, {"−2", 80, 78}, {"-2", 80, 78}, {"+3 %", 100, 103}, {"-10%", 50, 45}, {"×1.1", 10, 11}, {"*2", 7, 14}, {"=-5", 3, -5},
	} {
		c, err := ParseChange(row.text)
		if err != nil {
			t.Errorf("%q: %v", row.text, err)
			continue
		}
		g := New("t", "", Axis{Name: "x", At: []float64{1, 2}}, Axis{Name: "y", At: []float64{1, 2}})
		for i := range g.Z {
			g.Z[i] = row.from
		}
		out, err := c.Apply(&g, Block{0, 0, 0, 0})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(out.Z[0]-row.want) > 1e-12*math.Abs(row.want) {
			t.Errorf("%q of %g is %g, want %g", row.text, row.from, out.Z[0], row.want)
		}
		if out.Z[1] != row.from || g.Z[0] != row.from {
			t.Errorf("%q changed more than its block", row.text)
		}
	}
	for _, text := range []string{"", "+", "abc", "++2", "+-2", "×3 %", "=", "1e999", "NaN", "5 %"} {
		if c, err := ParseChange(text); err == nil {
			t.Errorf("%q passes as %+v", text, c)
		}
	}
}

func TestChangeOutsideTheTable(t *testing.T) {
	g := New("t", "", Axis{Name: "x", At: []float64{1, 2}}, Axis{Name: "y", At: []float64{1, 2, 3}})
	for _, b := range []Block{{-1, 0, 0, 0}, {0, 2, 0, 0}, {0, 0, 0, 3}, {1, 0, 0, 0}} {
		if _, err := (Change{Scale: 1}).Apply(&g, b); err == nil {
			t.Errorf("block %+v passes", b)
		}
	}
}

// TestScaleAndBack holds that a change and its opposite leave the cells as they were.
func TestScaleAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := New("t", "", Axis{Name: "x", At: []float64{1, 2, 3}}, Axis{Name: "y", At: []float64{1, 2, 3}})
		for i := range g.Z {
			g.Z[i] = rapid.Float64Range(-100, 100).Draw(t, "z")
		}
		k := rapid.Float64Range(0.1, 10).Draw(t, "k")
		b := Block{0, 1, 1, 2}
		up, err := (Change{Scale: k}).Apply(&g, b)
		if err != nil {
			t.Fatal(err)
		}
		back, err := (Change{Scale: 1 / k}).Apply(&up, b)
		if err != nil {
			t.Fatal(err)
		}
		for i := range g.Z {
			if math.Abs(back.Z[i]-g.Z[i]) > 1e-9 {
				t.Fatalf("cell %d: %g, want %g", i, back.Z[i], g.Z[i])
			}
		}
	})
}
