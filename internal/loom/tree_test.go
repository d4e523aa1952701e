package loom

import (
	"math"
	"slices"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/harness"
)

// TestTreeHoldsEveryWire walks the camper's harness: a tree from the fuse box,
// every wire in exactly the branches it is laid along, cables apart from it.
func TestTreeHoldsEveryWire(t *testing.T) {
	d := camper(t)
	l := plan(t, d)
	tree := &l.Tree
	if len(tree.Places) != len(tree.Branches)+1 || tree.Places[0].Name != "fuse box" || tree.Places[0].Parent != -1 {
		t.Fatalf("%d places and %d branches from %q", len(tree.Places), len(tree.Branches), tree.Places[0].Name)
	}
	for i, b := range tree.Branches {
		if b.To != i+1 || tree.Places[b.To].Parent != b.From || b.From >= b.To || !slices.Contains(tree.Places[b.From].Branches, i) {
			t.Errorf("branch %d, %s, leads from %d to %d", i, b.Name, b.From, b.To)
		}
		r := d.File.Routes[b.Route]
		ends := []string{r.From.Name, r.To.Name}
		if !slices.Contains(ends, tree.Places[b.From].Name) || !slices.Contains(ends, tree.Places[b.To].Name) || b.MeasuredM != r.LengthM.SI {
			t.Errorf("branch %s stands for the route %v", b.Name, ends)
		}
		if math.Abs(b.LengthM-1.08*b.MeasuredM) > 1e-12 {
			t.Errorf("branch %s is %g m with 8 %% on %g m", b.Name, b.LengthM, b.MeasuredM)
		}
		if k, ok := tree.Branch(b.Route); !ok || k != i {
			t.Errorf("route %d is branch %d, want %d", b.Route, k, i)
		}
	}
	for i, w := range l.Wires {
		lone := w.Kind == Post || w.Kind == Strap
		if lone != slices.Contains(tree.Apart, i) {
			t.Errorf("%s, a %s, apart %v", w.Name, w.Kind, !lone)
		}
		n := 0
		for _, b := range tree.Branches {
			in := slices.Contains(b.Wires, i)
			if in != (!lone && slices.Contains(w.Routes, b.Route)) {
				t.Errorf("%s in branch %s: %v", w.Name, b.Name, in)
			}
			if in {
				n++
			}
		}
		if !lone && n != len(w.Routes) {
			t.Errorf("%s runs through %d branches and %d routes", w.Name, n, len(w.Routes))
		}
		for _, end := range []End{w.From, w.To} {
			if k, ok := tree.Place(end.Place); ok && !slices.Contains(tree.Places[k].Wires, i) {
				t.Errorf("%s ends at %s, which does not know", w.Name, end.Place)
			}
		}
	}
}

// TestBranchesAreAsThickAsTheirWires bounds every bundle: its copper and
// insulation fill between 0.4 and 0.65 of it once there are a few wires.
func TestBranchesAreAsThickAsTheirWires(t *testing.T) {
	l := plan(t, camper(t))
	for _, b := range l.Tree.Branches {
		for _, s := range b.Strands {
			items := map[int]float64{} // a wire, or the first core of a group for the cable
			for _, i := range s.Wires {
				if g, ok := l.Tree.GroupOf(i); ok {
					items[g.Wires[0]] = g.DiameterM
				} else {
					items[i] = l.Wires[i].Cable.OverallM.SI
				}
			}
			squares := 0.0
			for _, d := range items {
				squares += d * d
			}
			if fill := squares / (s.DiameterM * s.DiameterM); len(items) > 2 && (fill > 0.6401 || fill < 0.4) {
				t.Errorf("%s: %d wires and cables fill %.2f of %.1f mm", b.Name, len(items), fill, s.DiameterM*1e3)
			}
		}
	}
}

// TestTrunkIsHeaviest tries every way through the tree.
func TestTrunkIsHeaviest(t *testing.T) {
	d := camper(t)
	tree := &plan(t, d).Tree
	var ways []harness.Way
	all := make([]int, len(tree.Branches))
	for i, b := range tree.Branches {
		all[i] = i
		ways = append(ways, harness.Way{A: b.From, B: b.To, LengthM: b.LengthM})
	}
	r, err := harness.Root(len(tree.Places), ways, all, 0)
	if err != nil {
		t.Fatal(err)
	}
	weigh := func(list []int) (sum float64) {
		for _, i := range list {
			sum += tree.Branches[i].LengthM * float64(len(tree.Branches[i].Wires))
		}
		return sum
	}
	most, is := 0.0, false
	for a := range tree.Places {
		for b := range tree.Places {
			way := r.Between(a, b)
			most = math.Max(most, weigh(way))
			is = is || slices.Equal(way, tree.Trunk)
		}
	}
	if !is || math.Abs(weigh(tree.Trunk)-most) > 1e-9 {
		t.Errorf("trunk %v weighs %g, a way %v; the heaviest weighs %g", tree.Trunk, weigh(tree.Trunk), is, most)
	}
}

// TestSplicesStayCool heats and moves places: no splice stays in them.
func TestSplicesStayCool(t *testing.T) {
	set := func(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }
	at := func(edits ...buildfile.Edit) map[string]string {
		out := map[string]string{}
		for _, s := range plan(t, camper(t, edits...)).Splices {
			out[s.Node] = s.Place
		}
		return out
	}
	before := at()
	hot := at(set("110 °C ± 5 °C", "places", "engine top", "hot"), set("110 °C ± 5 °C", "places", "engine side", "hot"))
	bent := at(set("yes", "places", "engine top", "flexes"), set("yes", "places", "hatch", "flexes"))
	there := false
	for node, place := range before {
		there = there || place == "engine top"
		if p := hot[node]; p == "engine top" || p == "engine side" {
			t.Errorf("%s lies at %s, 110 °C", node, p)
		}
		if p := bent[node]; p == "engine top" || p == "hatch" {
			t.Errorf("%s lies at %s, which flexes", node, p)
		}
	}
	if !there {
		t.Error("no splice lay at the engine's top before: the test shows nothing")
	}
}
