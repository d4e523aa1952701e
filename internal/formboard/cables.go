package formboard

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/drawing/harness"
	"fettle/internal/loom"
	"fettle/internal/quantity"
)

// twistLay is how a pair is twisted (common practice).
const twistLay = "about 30 turns a metre"

// screens seats the ends of screens that end in nothing that has a seat of its
// own: at the device's plug, and at the unit's where they are cut back there.
func (b *Board) screens() {
	for i := range b.Loom.Tree.Groups {
		g := &b.Loom.Tree.Groups[i]
		if g.Drain < 0 {
			continue
		}
		core, drain := &b.Loom.Wires[g.Wires[0]], &b.Loom.Wires[g.Drain]
		says := ", the screen's end, cut back and insulated"
		if g.Grounded != loom.AtUnit {
			says = ", the screen's end, grounded here"
		}
		b.beside(core.From.Node, drain.From.Node, says)
		b.beside(core.To.Node, drain.To.Node, ", the screen's end, cut back and insulated")
	}
}

// beside seats a node at the plug that another sits in.
func (b *Board) beside(plug, node, says string) {
	s, ok := b.spots[plug]
	if !ok {
		return
	}
	name, _, _ := strings.Cut(s.Name, ", way ")
	b.seat(node, Seat{Spot: s.Spot, Name: name + says, ID: s.ID})
}

// bonds marks the rows of devices whose wires are twisted or screened.
func (b *Board) bonds() {
	for _, g := range b.Loom.Tree.Groups {
		kind := harness.Twisted
		if g.Kind == "screened" {
			kind = harness.Screened
		}
		for _, i := range g.Wires {
			w := &b.Loom.Wires[i]
			for _, node := range []string{w.From.Node, w.To.Node} {
				s, ok := b.spots[node]
				if !ok || strings.HasPrefix(node, "pin ") {
					continue
				}
				if r := &b.places[s.Spot.Place].Rows[s.Spot.Row]; r.Sign == harness.Plug && r.Bond < kind {
					r.Bond = kind
				}
			}
		}
	}
}

// Bond says with which others a wire is twisted or screened; empty for none.
func (b *Board) Bond(number int) string {
	g, ok := b.Loom.Tree.GroupOf(number - 1)
	if !ok {
		return ""
	}
	var with []string
	for _, i := range g.Wires {
		if n := b.Loom.Wires[i].Number; n != number {
			with = append(with, digits(n))
		}
	}
	others := strings.Join(with, " and ")
	if g.Drain == number-1 {
		return "screen round the wires " + others + "; " + b.screenEnds(g)
	}
	says := g.Kind + " with wire " + others
	switch {
	case !g.Together:
		says += " as far as they go the same way"
	case g.Kind == "twisted":
		says += " all the way, " + twistLay
	default:
		says += " all the way"
	}
	if g.Drain >= 0 {
		says += "; the screen, wire " + digits(b.Loom.Wires[g.Drain].Number) + ", " + b.screenEnds(g)
	}
	return says
}

// screenEnds says where a screen is joined to ground and where it is not.
func (b *Board) screenEnds(g *loom.Group) string {
	w := &b.Loom.Wires[g.Drain]
	switch g.Grounded {
	case loom.AtDevice:
		return "grounded at the device, cut back at the control unit"
	case loom.AtBoth:
		return "grounded at the device and at " + b.end(w.To)
	}
	return "ends at " + b.end(w.To) + " at the " + g.Grounded + " only; at the device it is cut back and insulated"
}

// Apart says from what a wire keeps clear, and where; empty where it need not.
func (b *Board) Apart(number int) string {
	i := number - 1
	var at []string
	for k := range b.Loom.Tree.Branches {
		if br := &b.Loom.Tree.Branches[k]; len(br.Strands) > 1 && slices.Contains(br.Wires, i) {
			at = append(at, br.Name)
		}
	}
	from := "the wires of injectors and coils"
	switch {
	case len(at) == 0 || !b.Loom.Loud(i) && !b.Loom.Quiet(i):
		return ""
	case b.Loom.Loud(i):
		from = "the wires of crank, cam and knock"
	}
	return b.apart() + " from " + from + " along " + strings.Join(at, ", ") + "; where they meet, across at right angles"
}

// apart is the distance that loud and quiet wires keep.
func (b *Board) apart() string {
	in := b.Design.Cat.Scheme.ApartM
	return strings.ReplaceAll(quantity.Format(in.SI, "mm", 0), "\u00a0", " ")
}

// cableRows has a row for each group of wires that run as one.
func (b *Board) cableRows() (rows [][]string) {
	for i := range b.Loom.Tree.Groups {
		g := &b.Loom.Tree.Groups[i]
		first := &b.Loom.Wires[g.Wires[0]]
		is, screen := "twisted, "+twistLay, ""
		if g.Kind == "screened" {
			is = "screened cable"
		}
		if g.Drain >= 0 {
			screen = "wire " + digits(b.Loom.Wires[g.Drain].Number) + " " + b.screenEnds(g)
		}
		rows = append(rows, []string{
			g.Name, fmt.Sprintf("%d wires, %s", len(g.Wires), is), b.numbers(g.Wires), first.From.Place, first.To.Place, metres(g.LengthM),
			millimetres(g.DiameterM), screen,
		})
	}
	return rows
}

func millimetres(m float64) string { return strconv.FormatFloat(m*1e3, 'f', 1, 64) }

// apartRows has a row for each branch that is laid as two bundles, and for each
// place at which loud and quiet wires come together.
func (b *Board) apartRows() (rows [][]string) {
	t := &b.Loom.Tree
	sort := func(wires []int, is func(int) bool) (out []int) {
		for _, i := range wires {
			if is(i) {
				out = append(out, i)
			}
		}
		return out
	}
	for i := range t.Branches {
		br := &t.Branches[i]
		if len(br.Strands) < 2 {
			continue
		}
		room := ""
		if br.Room != nil {
			room = millimetres(br.Room.SI)
		}
		rows = append(rows, []string{
			br.Name, "two bundles, lay them " + b.apart() + " from each other", metres(br.LengthM),
			b.numbers(sort(br.Wires, b.Loom.Loud)), millimetres(br.Strands[0].DiameterM), b.numbers(sort(br.Wires, b.Loom.Quiet)),
			millimetres(br.Strands[1].DiameterM), millimetres(br.NeedM), room,
		})
	}
	for n := range t.Places {
		here := slices.Clone(t.Places[n].Wires)
		for k := range t.Branches {
			if br := &t.Branches[k]; br.From == n || br.To == n {
				here = append(here, br.Wires...)
			}
		}
		slices.Sort(here)
		here = slices.Compact(here)
		loud, quiet := sort(here, b.Loom.Loud), sort(here, b.Loom.Quiet)
		if len(loud) > 0 && len(quiet) > 0 {
			rows = append(rows, []string{t.Places[n].Name, "cross at right angles only", "", b.numbers(loud), "", b.numbers(quiet), "", "", ""})
		}
	}
	return rows
}
