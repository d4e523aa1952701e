package harness

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"
)

// vehicle draws places, ways that join them all and some more, and pulls.
func vehicle(rt *rapid.T, mostPlaces, mostExtra int) (n int, ways []Way, pulls []Pull) {
	n = rapid.IntRange(2, mostPlaces).Draw(rt, "places")
	length := func() float64 { return float64(rapid.IntRange(1, 400).Draw(rt, "cm")) / 100 }
	place := rapid.IntRange(0, n-1)
	for i := 1; i < n; i++ {
		ways = append(ways, Way{rapid.IntRange(0, i-1).Draw(rt, "to"), i, length()})
	}
	for range rapid.IntRange(0, mostExtra).Draw(rt, "extra") {
		if a, b := place.Draw(rt, "a"), place.Draw(rt, "b"); a != b {
			ways = append(ways, Way{a, b, length()})
		}
	}
	for range rapid.IntRange(1, 12).Draw(rt, "pulls") {
		pulls = append(pulls, Pull{place.Draw(rt, "from"), place.Draw(rt, "to"), float64(rapid.IntRange(1, 40).Draw(rt, "mm2")) * 1e-7})
	}
	return n, ways, pulls
}

// bare prices a set of ways with gonum's shortest paths; ok is false unless the
// ways are a tree over all places.
func bare(n int, ways []Way, taken []int, pulls []Pull) (copper float64, ok bool) {
	if len(taken) != n-1 {
		return 0, false
	}
	g := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
	for i := range n {
		g.AddNode(simple.Node(i))
	}
	for _, i := range taken {
		w := ways[i]
		if w.A == w.B || g.HasEdgeBetween(int64(w.A), int64(w.B)) {
			return 0, false
		}
		g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(w.A), simple.Node(w.B), w.LengthM))
	}
	all := path.DijkstraAllPaths(g)
	for i := range n {
		if math.IsInf(all.Weight(0, int64(i)), 1) {
			return 0, false
		}
	}
	for _, p := range pulls {
		copper += p.AreaM2 * all.Weight(int64(p.A), int64(p.B))
	}
	return copper, true
}

// TestChooseAgainstEverySubset holds the choice to the best of every subset of
// ways that is a tree, priced by gonum's graph/path.
func TestChooseAgainstEverySubset(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n, ways, pulls := vehicle(rt, 6, 4)
		got, err := Choose(n, ways, pulls)
		if err != nil {
			rt.Fatal(err)
		}
		least, trees := math.Inf(1), 0
		for mask := range 1 << len(ways) {
			var taken []int
			for i := range ways {
				if mask>>i&1 == 1 {
					taken = append(taken, i)
				}
			}
			if c, ok := bare(n, ways, taken, pulls); ok {
				trees++
				least = math.Min(least, c)
			}
		}
		if !got.Exact || got.Tried != trees {
			rt.Fatalf("%d trees tried, exact %v; there are %d", got.Tried, got.Exact, trees)
		}
		own, ok := bare(n, ways, got.Ways, pulls)
		if !ok || math.Abs(own-least) > 1e-12+1e-9*least || math.Abs(got.CopperM3-own) > 1e-12+1e-9*own {
			rt.Fatalf("ways %v take %g m³ (said %g), the best %g m³", got.Ways, own, got.CopperM3, least)
		}
	})
}

// TestTreesAreCounted holds the count to Cayley's formula: n^(n−2) trees of n
// places that are all joined to each other (Cayley 1889).
func TestTreesAreCounted(t *testing.T) {
	for n := 2; n <= 8; n++ {
		var ways []Way
		for b := range n {
			for a := range b {
				ways = append(ways, Way{a, b, 1})
			}
		}
		if got, want := newSearch(n, ways, nil).countTrees(), math.Pow(float64(n), float64(n-2)); got != want {
			t.Errorf("%d places: %g trees, want %g", n, got, want)
		}
	}
}

// TestExchangeIsNoWorse lets the exchange work where all trees can be tried: it
// must end in a tree that no single exchange betters, and nearly always in the best.
func TestExchangeIsNoWorse(t *testing.T) {
	best, all := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		n, ways, pulls := vehicle(rt, 8, 5)
		want, err := Choose(n, ways, pulls)
		if err != nil {
			rt.Fatal(err)
		}
		s := newSearch(n, ways, pulls)
		s.exchange()
		got, ok := bare(n, ways, s.best, pulls)
		if !ok || got < want.CopperM3*(1-1e-9) {
			rt.Fatalf("ways %v take %g m³, the best is %g m³", s.best, got, want.CopperM3)
		}
		all++
		if got <= want.CopperM3*(1+1e-9) {
			best++
		}
	})
	t.Logf("the exchange found the best tree in %d of %d vehicles", best, all)
	if float64(best) < 0.9*float64(all) {
		t.Errorf("the exchange found the best tree in %d of %d vehicles", best, all)
	}
}

// TestLargeVehicle has too many trees to try them all.
func TestLargeVehicle(t *testing.T) {
	const side = 6
	var ways []Way
	var pulls []Pull
	for i := range side * side {
		if i%side > 0 {
			ways = append(ways, Way{i - 1, i, 1 + float64(i%5)/10})
		}
		if i >= side {
			ways = append(ways, Way{i - side, i, 1 + float64(i%7)/10})
		}
		pulls = append(pulls, Pull{0, i, 1e-6}, Pull{14, i, 1e-6})
	}
	got, err := Choose(side*side, ways, pulls)
	if err != nil || got.Exact || len(got.Ways) != side*side-1 {
		t.Fatalf("%+v, %v", got, err)
	}
	again, _ := Choose(side*side, ways, pulls)
	if fmt.Sprint(again) != fmt.Sprint(got) {
		t.Error("a second search chose otherwise")
	}
}

// TestMedian holds the splice's place to a trial of every place with gonum's
// shortest paths, some of them forbidden.
func TestMedian(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n, ways, _ := vehicle(rt, 10, 0)
		taken := make([]int, len(ways))
		for i := range taken {
			taken[i] = i
		}
		tree, err := Root(n, ways, taken, rapid.IntRange(0, n-1).Draw(rt, "root"))
		if err != nil {
			rt.Fatal(err)
		}
		barred := rapid.IntRange(0, n-1).Draw(rt, "barred")
		var spurs []Spur
		for range rapid.IntRange(1, 6).Draw(rt, "spurs") {
			spurs = append(spurs, Spur{rapid.IntRange(0, n-1).Draw(rt, "at"), float64(rapid.IntRange(1, 9).Draw(rt, "area")) * 1e-7})
		}
		got, copper := tree.Median(spurs, func(p int) bool { return p != barred })
		least := math.Inf(1)
		for p := range n {
			if p == barred {
				continue
			}
			var pulls []Pull
			for _, s := range spurs {
				pulls = append(pulls, Pull{p, s.At, s.AreaM2})
			}
			c, _ := bare(n, ways, taken, pulls)
			least = math.Min(least, c)
			if p == got && math.Abs(c-copper) > 1e-15+1e-9*c {
				rt.Fatalf("place %d takes %g m³, gonum %g", p, copper, c)
			}
		}
		if got == barred || math.Abs(copper-least) > 1e-15+1e-9*least {
			rt.Fatalf("place %d takes %g m³, the best %g", got, copper, least)
		}
	})
}

// TestBundles holds the bundle's diameter against the tightest packings of
// equal circles that are proven: no bundle is thinner, and the formula says that
// it is at most 12 % thicker.
func TestBundles(t *testing.T) {
	const source = "tightest packings of equal circles in a circle: Graham 1968 (5, 6), Pirl 1969 (8 to 10), Melissen 1994 (11), Fodor 2000, 2003, 1999 (12, 13, 19); the rest by geometry"
	for _, r := range []struct {
		n    int
		want float64 // diameters of a wire
	}{
		{1, 1},
		{2, 2},
		{3, 1 + 2/math.Sqrt(3)},
		{4, 1 + math.Sqrt2},
		{5, 2.7013},
		{6, 3},
		{7, 3},
		{8, 1 + 1/math.Sin(math.Pi/7)},
		{9, 1 + math.Sqrt(2*(2+math.Sqrt2))},
		{10, 3.8130},
		{11, 1 + 1/math.Sin(math.Pi/9)},
		{12, 4.0296},
		{13, 2 + math.Sqrt(5)},
		{19, 1 + math.Sqrt2 + math.Sqrt(6)},
	} {
		wires := make([]float64, r.n)
		for i := range wires {
			wires[i] = 2e-3
		}
		got, err := BundleM(wires)
		if err != nil {
			t.Fatal(err)
		}
		if ratio := got / 2e-3 / r.want; ratio < 0.9999 || ratio > 1.121 {
			t.Errorf("%d wires of 2 mm: %.4g mm, the tightest packing is %.4g mm (%s)", r.n, got*1e3, r.want*2, source)
		}
	}
	if got, err := BundleM(nil); got != 0 || err != nil {
		t.Errorf("no wires: %g, %v", got, err)
	}
	for _, bad := range []float64{0, -1e-3, math.NaN()} {
		if got, err := BundleM([]float64{1e-3, bad}); err == nil {
			t.Errorf("a wire of %g m makes a bundle of %g m", bad, got)
		}
	}
}

// TestRefusals asks for what has no answer.
func TestRefusals(t *testing.T) {
	for _, r := range []struct {
		name  string
		ways  []Way
		pulls []Pull
	}{
		{"a pull that no way serves", []Way{{0, 1, 1}}, []Pull{{0, 2, 1e-6}}},
		{"a way without length", []Way{{0, 1, 0}}, nil},
		{"a way of no number", []Way{{0, 1, math.NaN()}}, nil},
		{"a way to nowhere", []Way{{0, 7, 1}}, nil},
	} {
		if got, err := Choose(3, r.ways, r.pulls); err == nil {
			t.Errorf("%s: %+v", r.name, got)
		}
	}
	ring := []Way{{0, 1, 1}, {1, 2, 1}, {2, 0, 1}}
	if _, err := Root(3, ring, []int{0, 1, 2}, 0); err == nil {
		t.Error("a ring passes for a tree")
	}
	if _, err := CopperM3(3, ring, []int{0}, []Pull{{0, 2, 1e-6}}); err == nil {
		t.Error("copper of a pull that the tree leaves apart")
	}
}
