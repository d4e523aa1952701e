package harness

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fettle/internal/drawing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// small is an invented harness with every sign.
func small() Tree {
	plug := func(id, name string, ways int) Row {
		return Row{Label: id + " " + name, Things: []Thing{{ID: id, Title: id + " " + name, Label: id + " " + name, Ways: ways}}}
	}
	one := func(s Sign, id, label string) Row {
		return Row{Sign: s, Label: label, Things: []Thing{{ID: id, Title: label}}}
	}
	unit := plug("X1", "controller, plug A", 48)
	unit.Lead, unit.Things[0].Lines = true, 4
	coils := Row{Label: "X5 … X8 coil 1 … 4"}
	for i := range 4 {
		coils.Things = append(coils.Things, Thing{ID: fmt.Sprint("X", 5+i), Title: fmt.Sprint("coil ", i+1), Label: fmt.Sprintf("X%d coil %d", 5+i, i+1), Ways: 3})
	}
	return Tree{
		Name: "small", Title: "an invented harness", Width: 900,
		Places: []Place{
			{Name: "seat", Rows: []Row{unit}},
			{Name: "fuse box", Note: drawing.Label{Text: "45 °C"}, Rows: []Row{{Sign: Fuse, Label: "F1 coils,", Figure: drawing.Label{Text: "15 A", Ref: "fuse"}, Things: []Thing{{ID: "F1"}}}, one(Relay, "K1", "K1 relay, main"), one(Ring, "B+", "battery +"), one(Onward, "on", "to starter, 1100 mm")}},
			{Name: "firewall", Bulkhead: true},
			{Name: "engine", Note: drawing.Label{Text: "85 °C", Ref: "place/engine"}, More: "(2 more)", Rows: []Row{one(Splice, "S1", "S1 splice, coils"), coils, plug("X9", "crank sensor", 3), one(Ground, "G1", "G1 ground bolt, engine block")}},
			{Name: "tail", Rows: []Row{plug("X10", "lamp", 2)}},
			{Name: "sill", Rows: nil},
		},
		Bundles: []Bundle{
			{From: 0, To: 1, LengthMM: 800, DiameterMM: 14},
			{From: 0, To: 2, LengthMM: 600, DiameterMM: 18},
			{From: 2, To: 3, LengthMM: 500, DiameterMM: 16, Assumed: true},
			{From: 1, To: 5, LengthMM: 5600, DiameterMM: 5},
			{From: 5, To: 4, LengthMM: 90, DiameterMM: 4},
		},
	}
}

// followed is small with a way from the box through a splice to a coil and on to
// the controller and the bolt.
func followed() Tree {
	t := small()
	t.Name = "followed"
	t.Way = &Way{At: 3, Stops: []Stop{
		{Spot: Spot{1, 0, 0}},
		{Spot: Spot{3, 0, 0}},
		{Spot: Spot{3, 1, 2}, Way: 1, Then: Leg{None: true}},
		{Spot: Spot{3, 1, 2}, Way: 2, Then: Leg{Return: true}},
		{Spot: Spot{0, 0, 0}, Way: 17, Then: Leg{None: true}},
		{Spot: Spot{0, 0, 0}, Way: 30, Then: Leg{Return: true, Bad: true}},
		{Spot: Spot{3, 3, 0}},
	}}
	return t
}

func noClash(t interface{ Errorf(string, ...any) }, name string, d *drawing.Drawing) {
	if c := drawing.Clashes(d); len(c) > 0 {
		t.Errorf("%s (%.0f × %.0f):\n  %s", name, d.W, d.H, strings.Join(c[:min(5, len(c))], "\n  "))
	}
}

func TestGolden(t *testing.T) {
	for _, tree := range []Tree{small(), followed()} {
		d := tree.Draw()
		noClash(t, tree.Name, d)
		var g, s bytes.Buffer
		if err := drawing.Geometry(&g, d); err != nil {
			t.Fatal(err)
		}
		if err := drawing.SVG(&s, d, drawing.SVGOptions{Alone: true}); err != nil {
			t.Fatal(err)
		}
		golden(t, tree.Name+".json", g.Bytes())
		golden(t, tree.Name+".svg", s.Bytes())
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s has changed; look at it, then go test ./internal/drawing/harness -update\n%.2000s", name, diff)
	}
}

// draw is a random harness: any tree, any mix of signs, names of any length.
func draw(rt *rapid.T) Tree {
	n := rapid.IntRange(1, 22).Draw(rt, "places")
	t := Tree{Name: "random", Title: "random", Width: Px(rapid.SampledFrom([]int{700, 1000, 1480}).Draw(rt, "width"))}
	word := rapid.StringMatching(`[a-z]{1,9}( [a-z]{1,9}){0,3}`)
	id := 0
	for i := range n {
		p := Place{Name: word.Draw(rt, "name"), Bulkhead: rapid.IntRange(0, 6).Draw(rt, "bulkhead") == 0}
		if rapid.Bool().Draw(rt, "noted") {
			p.Note = drawing.Label{Text: "(85 °C)"}
		}
		for range rapid.IntRange(0, 9).Draw(rt, "rows") {
			r := Row{Sign: Sign(rapid.IntRange(0, int(Onward)).Draw(rt, "sign")), Label: word.Draw(rt, "label"), Lead: i == 0 && rapid.Bool().Draw(rt, "lead")}
			if rapid.Bool().Draw(rt, "figured") {
				r.Figure.Text = "7.5 A"
			}
			for range rapid.IntRange(1, 6).Draw(rt, "things") {
				id++
				r.Things = append(r.Things, Thing{ID: fmt.Sprint("X", id), Label: "X1 one of them", Ways: rapid.IntRange(0, 60).Draw(rt, "ways")})
				if r.Lead {
					break
				}
			}
			p.Rows = append(p.Rows, r)
		}
		t.Places = append(t.Places, p)
		if i > 0 {
			t.Bundles = append(t.Bundles, Bundle{
				From: rapid.IntRange(0, i-1).Draw(rt, "from"), To: i, Assumed: rapid.Bool().Draw(rt, "assumed"),
				LengthMM: drawing.Number(rapid.IntRange(10, 12000).Draw(rt, "mm")), DiameterMM: drawing.Number(rapid.IntRange(0, 60).Draw(rt, "thick")),
			})
		}
	}
	return t
}

func TestNoLabelMeetsAnother(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tree := draw(rt)
		noClash(rt, "random", tree.Draw())
	})
}

// TestWaysOfRandomHarnesses follows random ways: nothing clashes, every leg
// begins and ends at its things, and runs level and upright only.
func TestWaysOfRandomHarnesses(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tree := draw(rt)
		var all []Spot
		for p := range tree.Places {
			for r := range tree.Places[p].Rows {
				for k := range tree.Places[p].Rows[r].Things {
					all = append(all, Spot{p, r, k})
				}
			}
		}
		if len(all) == 0 {
			return
		}
		tree.Way = &Way{}
		for range rapid.IntRange(1, 12).Draw(rt, "stops") {
			tree.Way.Stops = append(tree.Way.Stops, Stop{Spot: rapid.SampledFrom(all).Draw(rt, "spot"), Way: 1, Then: Leg{Return: rapid.Bool().Draw(rt, "return")}})
		}
		noClash(rt, "random way", tree.Draw())
		l, _ := tree.choose(0)
		where := l.find()
		for i := 1; i < len(tree.Way.Stops); i++ {
			a, b := tree.Way.Stops[i-1].Spot, tree.Way.Stops[i].Spot
			if a == b {
				continue
			}
			pts := l.route(a, b, where)
			if len(pts) < 2 || pts[0] != l.toBar(a, where[a])[0] || pts[len(pts)-1] != l.toBar(b, where[b])[0] {
				rt.Fatalf("the way from %v to %v does not join them: %v", a, b, pts)
			}
			for j := 1; j < len(pts); j++ {
				if pts[j-1].X != pts[j].X && pts[j-1].Y != pts[j].Y {
					rt.Fatalf("a leg runs askew from %v to %v", pts[j-1], pts[j])
				}
			}
		}
	})
}

// TestSheetsHoldEverything: every thing stands on exactly one sheet, each sheet
// keeps its size (from A6 lying on), and nothing clashes.
func TestSheetsHoldEverything(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tree := draw(rt)
		tree.Width, tree.Height = 1000, Px(rapid.SampledFrom([]int{400, 500, 700}).Draw(rt, "height"))
		want := map[string]int{}
		for _, p := range tree.Places {
			for _, r := range p.Rows {
				for _, th := range r.Things {
					want[tree.Name+"-"+th.ID]++
				}
			}
		}
		got := map[string]int{}
		for _, d := range tree.Sheets() {
			noClash(rt, d.Name, d)
			if d.H > tree.Height+0.5 && d.W <= tree.Width {
				rt.Errorf("%s is %.0f high, at most %.0f", d.Name, d.H, tree.Height)
			}
			var visit func(items []drawing.Item)
			visit = func(items []drawing.Item) {
				for _, it := range items {
					if g, ok := it.(drawing.Group); ok {
						if i := strings.LastIndex(g.ID, "-X"); i > 0 {
							got[tree.Name+g.ID[i:]]++
						}
						visit(g.Items)
					}
				}
			}
			visit(d.Items)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			rt.Errorf("things on the sheets: %s", diff)
		}
	})
}

func TestSameInputSameBytes(t *testing.T) {
	var first []byte
	for i := range 5 {
		tree := followed()
		var b bytes.Buffer
		if err := drawing.SVG(&b, tree.Draw(), drawing.SVGOptions{}); err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first = b.Bytes()
		} else if !bytes.Equal(first, b.Bytes()) {
			t.Fatal("the same harness gave another drawing")
		}
	}
}

// TestScale: a stretch drawn to scale is as long as its figure says at the
// drawing's scale bar; one that is not has its figure underlined.
func TestScale(t *testing.T) {
	tree := small()
	l, _ := tree.choose(0)
	perMM := 96 / 25.4 / float64(l.scale)
	for p, r := range l.in {
		if r.bundle < 0 || !l.reached[p] {
			continue
		}
		mm := float64(tree.Bundles[r.bundle].LengthMM)
		drawn := float64(l.barX[p] - l.barX[r.parent])
		if !r.broken && !r.stretched && (drawn < mm*perMM-0.01 || drawn > mm*perMM+0.01) {
			t.Errorf("%g mm are drawn %g px long, %g is the scale", mm, drawn, mm*perMM)
		}
	}
	if !l.in[5].broken || !l.in[4].stretched {
		t.Errorf("5600 mm broken: %v; 90 mm stretched: %v", l.in[5].broken, l.in[4].stretched)
	}
}

func TestNothingToDraw(t *testing.T) {
	for _, tree := range []Tree{{Name: "none", Width: 400}, {Name: "one", Width: 400, Places: []Place{{Name: "here"}}}, {Name: "apart", Width: 400, Places: []Place{{Name: "here"}, {Name: "elsewhere, with nothing that leads there"}}}} {
		noClash(t, tree.Name, tree.Draw())
		tree.Height = 300
		for _, d := range tree.Sheets() {
			noClash(t, tree.Name, d)
		}
	}
}
