package dcnet_test

import (
	"math"
	"strings"
	"testing"

	. "fettle/internal/dcnet"
)

// near fails the test when got is further than tol (relative, or absolute
// below 1) from want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*max(1, math.Abs(want))) {
		t.Errorf("%s: %.15g, want %.15g ± %g", what, got, want, tol)
	}
}

func solved(t *testing.T, n *Network, sw Switches, start []float64, ch ...Change) Solution {
	t.Helper()
	s, e := n.Solve(sw, start, ch...)
	if !e.OK {
		t.Fatalf("not solved: %s (%d steps)", e.Why, e.Steps)
	}
	if e.Residual > 1e-9 {
		t.Errorf("residual %g", e.Residual)
	}
	return s
}

func refused(t *testing.T, n *Network, sw Switches, want string, ch ...Change) {
	t.Helper()
	s, e := n.Solve(sw, nil, ch...)
	if e.OK || !strings.Contains(e.Why, want) {
		t.Errorf("ended OK %v, why %q, want %q", e.OK, e.Why, want)
	}
	if s.NodeV != nil || !math.IsNaN(s.ElementA(1)) {
		t.Errorf("a failed solve shows numbers: %v", s.NodeV)
	}
}

// feed is a 12 V source of 0.1 Ω, a wire of 0.4 Ω and a load that returns to
// the reference.
func feed(m Model) (n *Network, src, w, ld ElementID) {
	n = New()
	bat, dev := n.Node("battery"), n.Node("device")
	src = n.Source("battery", bat, Reference, 12, 0.1)
	w = n.Resistor("feed", bat, dev, 0.4)
	ld = n.Load("device", dev, Reference, m)
	return n, src, w, ld
}

// TestClosedForm holds one branch against the answers on paper.
func TestClosedForm(t *testing.T) {
	upper := func(p float64) float64 { return (12 + math.Sqrt(144-4*0.5*p)) / 2 }
	rows := []struct {
		name   string
		m      Model
		wantV  float64
		source string
	}{
		{"resistance", Resistance{5.5}, 12 * 5.5 / 6, "voltage divider, closed form"},
		{"current", Current{8, 6}, 12 - 8*0.5, "Ohm's law, closed form"},
		{"current below drop-out", Current{16, 8}, 12 / (1 + 0.5*16/8), "divider with R = U₀/I₀, closed form"},
		{"power", Power{60, 6}, upper(60), "upper root of U² − U·E + P·R = 0, closed form"},
		{"power near its nose", Power{71.9999, 3}, upper(71.9999), "upper root, closed form; nose at E²/4R = 72 W"},
		{"power past its nose", Power{80, 5}, 12 / (1 + 0.5*80/25), "divider with R = U₀²/P, closed form"},
		{"half duty", Average{Resistance{2}, 0.5}, 12 * 4 / 4.5, "mean current of a resistance, closed form"},
		{"curve", Curve{[]float64{0, 8, 14}, []float64{0, 4, 7}}, 12 * 2 / 2.5, "straight curve of 2 Ω, closed form"},
		{"curve that bends", Curve{[]float64{2, 8, 14}, []float64{4, 4, 16}}, 9, "12 − 0.5·I = U on I = 4 + 2(U − 8): 9 V, closed form"},
	}
	for _, r := range rows {
		n, src, w, ld := feed(r.m)
		for _, start := range [][]float64{nil, {0, 12, 12}, {0, 3, 0.1}} {
			s := solved(t, n, nil, start)
			tol := 1e-9
			if strings.Contains(r.name, "near its nose") {
				tol = 1e-7 // the root has a slope of 1/√ there
			}
			near(t, r.name, s.NodeV[2], r.wantV, tol)
			i, _ := r.m.At(s.NodeV[2])
			near(t, r.name+" current", s.ElementA(ld), i, 1e-7)
			near(t, r.name+" wire", s.ElementA(w), i, 1e-7)
			near(t, r.name+" source", s.ElementA(src), -i, 1e-7)
		}
	}
}
