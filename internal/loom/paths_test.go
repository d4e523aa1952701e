package loom

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/figure"
)

// TestShortestWay holds the ways through random vehicles against the shortest
// paths of gonum's graph/path (Dijkstra).
func TestShortestWay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 14).Draw(rt, "places")
		f := &design.File{}
		g := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
		for i := range n {
			f.Places = append(f.Places, buildfile.Named[design.Place]{Name: fmt.Sprint("p", i)})
			g.AddNode(simple.Node(i))
		}
		for range rapid.IntRange(0, 3*n).Draw(rt, "routes") {
			a, b := rapid.IntRange(0, n-1).Draw(rt, "from"), rapid.IntRange(0, n-1).Draw(rt, "to")
			length := float64(rapid.IntRange(1, 500).Draw(rt, "cm")) / 100
			f.Routes = append(f.Routes, design.Route{From: buildfile.Ref{Name: fmt.Sprint("p", a)}, To: buildfile.Ref{Name: fmt.Sprint("p", b)}, LengthM: &figure.Input{SI: length}})
			if w, ok := g.Weight(int64(a), int64(b)); a != b && (!ok || length < w) {
				g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(a), simple.Node(b), length))
			}
		}
		p := newPaths(&design.Design{File: f})
		for i := range n {
			tree := path.DijkstraFrom(simple.Node(i), g)
			for j := range n {
				a, b := fmt.Sprint("p", i), fmt.Sprint("p", j)
				want, got := tree.WeightTo(int64(j)), p.lengthM(a, b)
				if math.IsInf(want, 1) != math.IsInf(got, 1) || !math.IsInf(want, 1) && math.Abs(got-want) > 1e-9 {
					rt.Fatalf("from %s to %s: %g m, gonum %g m", a, b, got, want)
				}
				sum := 0.0
				for _, r := range p.between(a, b) {
					sum += f.Routes[r].LengthM.SI
				}
				if i != j && !math.IsInf(want, 1) && math.Abs(sum-want) > 1e-9 {
					rt.Fatalf("the routes from %s to %s are %g m long, gonum's %g m", a, b, sum, want)
				}
			}
		}
	})
}
