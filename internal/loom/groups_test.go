package loom

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fettle/internal/buildfile"
)

// TestGroupsRunTogether: the cores of every pair and cable take one way, and a
// bundle counts them as the cable they are.
func TestGroupsRunTogether(t *testing.T) {
	l := plan(t, camper(t))
	kinds := map[string]int{}
	for _, g := range l.Tree.Groups {
		kinds[g.Kind]++
		first := l.Wires[g.Wires[0]]
		for _, i := range g.Wires {
			if w := l.Wires[i]; !g.Together || !slices.Equal(w.Routes, first.Routes) || w.To.Place != first.To.Place {
				t.Errorf("%s: %s goes to %s, %s to %s", g.Name, w.Name, w.To.Place, first.Name, first.To.Place)
			}
		}
		if g.Drain >= 0 && !slices.Equal(l.Wires[g.Drain].Routes, first.Routes) {
			t.Errorf("the screen of %s goes another way than its cores", g.Name)
		}
	}
	if kinds["screened"] == 0 || kinds["twisted"] == 0 {
		t.Errorf("the camper has %v", kinds)
	}
}

// TestCableM is held against the circle round two and three equal circles: 2 d
// and (1 + 2/√3) d (geometry), with the sheath twice round it.
func TestCableM(t *testing.T) {
	for _, v := range []struct {
		cores      []float64
		wall, want float64
	}{
		{[]float64{1.6e-3, 1.6e-3}, 0, 3.2e-3},
		{[]float64{1.6e-3, 1.6e-3}, 0.8e-3, 4.8e-3},
		{[]float64{1.6e-3, 1.6e-3, 1.6e-3}, 0, 1.6e-3 * (1 + 2/math.Sqrt(3))},
	} {
		// 1 %: the bundle of three is laid by hand, 1.25 √3 against 1 + 2/√3
		if got, err := CableM(v.cores, v.wall); err != nil || math.Abs(got-v.want) > 0.01*v.want {
			t.Errorf("%d cores of 1.6 mm in %g m: %g m, %v; want %g m", len(v.cores), v.wall, got, err, v.want)
		}
	}
	if _, err := CableM([]float64{0}, 0); err == nil {
		t.Error("a core of no diameter is no error")
	}
}

// TestScreensEndAtTheUnit: every screen has a drain, joined at the control unit
// only; what the file says otherwise is done.
func TestScreensEndAtTheUnit(t *testing.T) {
	set := func(word string) *Loom {
		return plan(t, camper(t, buildfile.Edit{Path: []string{"loom", "screens", "crank sensor", "grounded"}, Text: word}))
	}
	for word, open := range map[string][2]bool{AtUnit: {true, false}, AtDevice: {false, true}, AtBoth: {false, false}} {
		l := set(word)
		for _, g := range l.Tree.Groups {
			if g.Kind != "screened" {
				continue
			}
			w := l.Wires[g.Drain]
			want := [2]bool{true, false}
			if g.Name == "crank sensor" {
				want = open
			}
			if got := [2]bool{l.OpenEnd(w.From.Node), l.OpenEnd(w.To.Node)}; got != want {
				t.Errorf("%s: %s is open at device and unit: %v, want %v", word, w.Name, got, want)
			}
			if w.Kind != Screen || w.To.Place != "controller" || l.Loops(&w) != (want == [2]bool{}) {
				t.Errorf("%s: %s, a %s, ends at %s, loops %v", word, w.Name, w.Kind, w.To.Place, l.Loops(&w))
			}
		}
	}
}

// TestScreenOfNothing: a screen that no device has is named with what there is.
func TestScreenOfNothing(t *testing.T) {
	_, ds := Plan(camper(t, buildfile.Edit{Path: []string{"loom", "screens", "fuel pump", "grounded"}, Text: "device"}))
	if len(ds) != 1 || !strings.Contains(ds[0].Msg.String(), "fuel pump") || ds[0].Pos.Line == 0 {
		t.Errorf("got %v", ds)
	}
}

// TestLoudAndQuietKeepApart: no bundle holds the wire of an injector or a coil
// beside one of crank, cam or knock, and a branch is parted only where it has to.
func TestLoudAndQuietKeepApart(t *testing.T) {
	l := plan(t, camper(t))
	parted := 0
	for _, b := range l.Tree.Branches {
		loud, quiet, n := 0, 0, 0
		for _, s := range b.Strands {
			has := [2]bool{slices.ContainsFunc(s.Wires, l.Loud), slices.ContainsFunc(s.Wires, l.Quiet)}
			if has == [2]bool{true, true} {
				t.Errorf("%s: a bundle holds both", b.Name)
			}
			if has[0] {
				loud++
			}
			if has[1] {
				quiet++
			}
			n += len(s.Wires)
		}
		if n != len(b.Wires) {
			t.Errorf("%s: its bundles hold %d of %d wires", b.Name, n, len(b.Wires))
		}
		if both := loud > 0 && quiet > 0; both != (len(b.Strands) == 2) {
			t.Errorf("%s: %d bundles", b.Name, len(b.Strands))
		} else if both {
			parted++
			if want := b.Strands[0].DiameterM + 0.100 + b.Strands[1].DiameterM; math.Abs(b.NeedM-want) > 1e-12 { // common practice: 100 mm
				t.Errorf("%s takes %g m, want %g", b.Name, b.NeedM, want)
			}
		}
	}
	if parted == 0 {
		t.Error("no branch is parted")
	}
	for i, w := range l.Wires {
		served := strings.Join(w.Served, " ")
		if strings.HasPrefix(w.Name, "injector ") && !l.Loud(i) || strings.HasPrefix(w.Name, "coil ") && !l.Loud(i) {
			t.Errorf("%s counts as still", w.Name)
		}
		if (strings.HasPrefix(w.Name, "crank sensor") || strings.Contains(w.Name, "knock sensor")) && !l.Quiet(i) {
			t.Errorf("%s, which serves %q, counts as any other", w.Name, served)
		}
	}
}
