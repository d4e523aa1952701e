package formboard

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/drawing/harness"
)

// TestBillHolds counts the bill anew from the loom: a seal for every way in use, a
// plug for every other, a splice for each, and nothing bought short of what is
// counted with its allowance.
func TestBillHolds(t *testing.T) {
	for name, b := range boards(t) {
		l, _ := b.List("materials")
		in := func(g string) func([]string) bool { return func(r []string) bool { return r[0] == g } }
		used, free := 0, 0
		for _, c := range b.Connectors {
			for _, n := range c.Ways {
				if len(b.wires[n]) > 0 {
					used++
				} else {
					free++
				}
			}
		}
		if got := int(sum(t, &l, "quantity", in("seal"))); got != used {
			t.Errorf("%s: %d seals for %d ways in use", name, got, used)
		}
		if got := int(sum(t, &l, "quantity", in("cavity plug"))); got != free {
			t.Errorf("%s: %d plugs for %d free ways", name, got, free)
		}
		if got := int(sum(t, &l, "quantity", in("splice"))); got != len(b.Loom.Splices) {
			t.Errorf("%s: %d splices of %d", name, got, len(b.Loom.Splices))
		}
		covered := 0.0
		for _, br := range b.Loom.Tree.Branches {
			covered += br.LengthM * float64(len(br.Strands))
		}
		if got := sum(t, &l, "quantity", in("conduit")); math.Abs(got-covered) > 0.05 {
			t.Errorf("%s: %.2f m of conduit over %.2f m of branches", name, got, covered)
		}
		q, more, buy := column(t, &l, "quantity"), column(t, &l, "allowance"), column(t, &l, "to buy")
		for _, r := range l.Rows {
			n, _ := strconv.ParseFloat(r[q], 64)
			p, err := strconv.ParseFloat(r[more], 64)
			take, err2 := strconv.ParseFloat(r[buy], 64)
			if err != nil || err2 != nil || take < n*(1+p/100)-0.006 || take > n*(1+p/100)+1 {
				t.Errorf("%s: %v buys %g of %g and %g %%", name, r[:2], take, n, p)
			}
		}
	}
}

// TestTape is held against the area that a tape lays: a turn that overlaps by half
// lays two layers, so that tape times its width is twice the bundle's surface.
func TestTape(t *testing.T) {
	for name, b := range boards(t) {
		surface := 0.0
		for _, br := range b.Loom.Tree.Branches {
			for _, s := range br.Strands {
				surface += math.Pi * s.DiameterM * br.LengthM
			}
		}
		l, _ := b.List("materials")
		tape := sum(t, &l, "quantity", func(r []string) bool { return r[0] == "tape" })
		if surface > 0 && math.Abs(tape*0.019/(2*surface)-1) > 0.01 {
			t.Errorf("%s: %.1f m of tape of 19 mm over %.3f m²", name, tape, surface)
		}
	}
}

// TestRangesAreWhole: what lies between two steps belongs to the next, and every
// wire of the examples finds a terminal's range.
func TestRangesAreWhole(t *testing.T) {
	for _, row := range []struct {
		steps []size
		v     float64
		want  string
	}{
		{crimps, 0.5e-6, "0.2 … 0.5 mm²"},
		{crimps, 0.51e-6, "0.75 … 1 mm²"},
		{crimps, 4e-6, "4 … 6 mm²"},
		{crimps, 95e-6, "95 mm²"},
		{tubes, 4.6e-3, "7.5 mm"},
		{shrinks, 0.0525, "95 mm²"},
	} {
		if got := pick(row.steps, row.v, "95 mm²"); got != row.want {
			t.Errorf("%g is of the range %q, want %q", row.v, got, row.want)
		}
	}
	for _, steps := range [][]size{crimps, seals, tubes, shrinks} {
		if !slices.IsSortedFunc(steps, func(a, b size) int { return int(math.Copysign(1, a.upTo-b.upTo)) }) {
			t.Errorf("steps are out of order: %v", steps)
		}
	}
}

// TestFoldKeepsTheWay: in a folded harness every stop is still the thing it was,
// and what is left out is counted.
func TestFoldKeepsTheWay(t *testing.T) {
	for name, b := range boards(t) {
		for i := 0; i < len(b.Loom.Wires); i += 7 {
			f, ok := b.Follow(nil, b.Loom.Wires[i].Number)
			if !ok {
				continue
			}
			tree := b.Tree("harness", 1000, nil)
			whole := 0
			for _, p := range tree.Places {
				for _, r := range p.Rows {
					whole += len(r.Things)
				}
			}
			b.Mark(&tree, f, 1, nil, nil)
			Fold(&tree)
			for k, s := range tree.Way.Stops {
				if got := tree.Places[s.Spot.Place].Rows[s.Spot.Row].Things[s.Spot.Thing].ID; got != f.Stations[k].Seat.ID {
					t.Errorf("%s, wire %d: stop %d is %s, was %s", name, b.Loom.Wires[i].Number, k+1, got, f.Stations[k].Seat.ID)
				}
			}
			left := 0
			for _, p := range tree.Places {
				for _, r := range p.Rows {
					left += len(r.Things)
				}
				if _, more, ok := strings.Cut(p.More, "("); ok {
					if n, err := strconv.Atoi(strings.TrimSuffix(more, " more)")); err == nil {
						left += n
					}
				}
			}
			if left != whole {
				t.Errorf("%s, wire %d: %d things of %d are drawn or counted", name, b.Loom.Wires[i].Number, left, whole)
			}
		}
	}
}

// TestBondsAreMarked: a device with twisted or screened wires bears the sign, and
// each of its wires names the others.
func TestBondsAreMarked(t *testing.T) {
	marked := 0
	for name, b := range boards(t) {
		for _, g := range b.Loom.Tree.Groups {
			for _, i := range g.Wires {
				w := &b.Loom.Wires[i]
				if says := b.Bond(w.Number); !strings.HasPrefix(says, g.Kind) {
					t.Errorf("%s: wire %d of %s, %s, says %q", name, w.Number, g.Name, g.Kind, says)
				}
				for _, node := range []string{w.From.Node, w.To.Node} {
					s, ok := b.Seat(node)
					if !ok || !strings.HasPrefix(node, g.Name+" ") {
						continue
					}
					marked++
					if b.places[s.Spot.Place].Rows[s.Spot.Row].Bond == harness.Loose {
						t.Errorf("%s: %s bears no sign for %s", name, s.ID, g.Kind)
					}
				}
			}
		}
	}
	if marked == 0 {
		t.Error("no build has a wire that is twisted or screened")
	}
}
