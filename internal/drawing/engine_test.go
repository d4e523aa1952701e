package drawing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// demoPlan is an invented engine of some banks.
func demoPlan(w Px, upright bool, banks, inRow int) EnginePlan {
	e := EnginePlan{
		Name: fmt.Sprintf("plan-%d-%d-%v", banks, inRow, upright), Title: "Cylinders from above", Width: w, Upright: upright, Ends: [2]string{"timing drive", "flywheel"},
		Foot: "Seen from above. Which side bank 1 lies on the file does not say: it is the bank that holds cylinder 1.",
	}
	for b := range banks {
		var bank []Bore
		for i := range inRow {
			n := i*banks + b + 1
			bank = append(bank, Bore{Number: fmt.Sprint(n), Notes: []Label{{Text: fmt.Sprintf("fires as number %d", n)}, {Text: fmt.Sprintf("injector A%d", n)}, {Text: fmt.Sprintf("coil A%d", n+20)}}})
		}
		e.Banks = append(e.Banks, bank)
	}
	return e
}

func demoTrigger(w Px) Trigger {
	g := Trigger{Name: "trigger", Title: "Two turns", Width: w, Foot: "Where the gap stands to top dead centre the file does not say."}
	tdc := Lane{Name: Label{Text: "firing top dead centres"}}
	for i, c := range []int{1, 8, 4, 3, 6, 5, 7, 2} {
		tdc.Marks = append(tdc.Marks, AngleMark{Number(i * 90), fmt.Sprint(c)})
	}
	crank := Lane{Name: Label{Text: "crank wheel, 60 less 2"}}
	for i := range 120 {
		if i%60 < 58 {
			crank.Spans = append(crank.Spans, Span{Number(i) * 6, Number(i)*6 + 3})
		}
	}
	g.Lanes = []Lane{tdc, crank, {Name: Label{Text: "intake valves of cylinder 1, moved 40° earlier"}, Spans: []Span{{356, 588}}, Swept: -40}, {Name: Label{Text: "exhaust"}, Spans: []Span{{650, 870}}, Swept: 30}}
	return g
}

// TestPlanPutsOneAtItsEnd: numbering begins at the stated end, whichever way the
// engine lies, and every cylinder stands once.
func TestPlanPutsOneAtItsEnd(t *testing.T) {
	at := func(d *Drawing, number string) Point {
		for _, it := range d.Items {
			if g, ok := it.(Group); ok && g.ID == d.Name+"-bore-"+number {
				c := g.Items[0].(Circle)
				return Point{c.X, c.Y}
			}
		}
		t.Fatalf("no cylinder %s", number)
		return Point{}
	}
	for _, upright := range []bool{false, true} {
		for _, wheel := range []bool{false, true} {
			e := demoPlan(900, upright, 2, 4)
			e.AtWheel = wheel
			d := e.Draw()
			first, last, second := at(d, "1"), at(d, "7"), at(d, "2")
			along, across := last.X-first.X, second.Y-first.Y
			if upright {
				along, across = last.Y-first.Y, second.X-first.X
			}
			if wheel {
				along = -along
			}
			if along <= 0 || across <= 0 {
				t.Errorf("upright %v, at the flywheel %v: cylinder 1 at %v, 7 at %v, 2 at %v", upright, wheel, first, last, second)
			}
			seen := map[Point]bool{}
			for i := range 8 {
				seen[at(d, fmt.Sprint(i+1))] = true
			}
			if len(seen) != 8 {
				t.Errorf("8 cylinders stand at %d places", len(seen))
			}
		}
	}
}

// TestSpansAreCutAtTheEnds: whatever runs over two turns comes in again at their
// beginning, and no part of it is lost.
func TestSpansAreCutAtTheEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := Number(rapid.Float64Range(-2000, 2000).Draw(t, "from"))
		long := Number(rapid.Float64Range(0.1, 719).Draw(t, "long"))
		var sum Number
		for _, s := range parted([]Span{{from, from + long}}) {
			if s.From < 0 || s.To > turnsDeg || s.To < s.From {
				t.Fatalf("%v", s)
			}
			sum += s.To - s.From
		}
		if math.Abs(float64(sum-long)) > 1e-6 {
			t.Fatalf("%v long, drawn %v", long, sum)
		}
	})
}

// TestSweepLiesOnTheMovedSide: a phaser that moves earlier adds before each edge.
func TestSweepLiesOnTheMovedSide(t *testing.T) {
	got := sweeps(Lane{Spans: []Span{{100, 300}}, Swept: -40})
	if len(got) != 2 || got[0] != (Span{60, 100}) || got[1] != (Span{260, 300}) {
		t.Errorf("earlier: %v", got)
	}
	got = sweeps(Lane{Spans: []Span{{100, 300}}, Swept: 30})
	if len(got) != 2 || got[0] != (Span{100, 130}) || got[1] != (Span{300, 330}) {
		t.Errorf("later: %v", got)
	}
}

func TestEnginesNeverClash(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := demoPlan(Px(rapid.IntRange(300, 1000).Draw(t, "width")), rapid.Bool().Draw(t, "upright"), rapid.IntRange(1, 2).Draw(t, "banks"), rapid.IntRange(1, 8).Draw(t, "in row"))
		e.AtWheel = rapid.Bool().Draw(t, "wheel")
		if e.Width < 700 { // a narrow sheet stands upright
			e.Upright = true
		}
		if c := Clashes(e.Draw()); len(c) > 0 {
			t.Fatal(strings.Join(c, "\n"))
		}
		g := demoTrigger(Px(rapid.IntRange(300, 1000).Draw(t, "width")))
		for i := range g.Lanes {
			g.Lanes[i].Name.Text = label(t, "name")
		}
		if c := Clashes(g.Draw()); len(c) > 0 {
			t.Fatal(strings.Join(c, "\n"))
		}
	})
}
