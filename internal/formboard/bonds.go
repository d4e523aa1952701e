package formboard

import (
	"strings"

	"fettle/internal/drawing/harness"
)

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
	for _, g := range b.Loom.Tree.Groups {
		var with []string
		mine := false
		for _, i := range g.Wires {
			if n := b.Loom.Wires[i].Number; n == number {
				mine = true
			} else {
				with = append(with, digits(n))
			}
		}
		if !mine {
			continue
		}
		says := g.Kind + " with wire " + strings.Join(with, " and ") + ", all the way"
		if g.Kind == "screened" {
			says += "; the screen ends at the control unit only"
		}
		return says
	}
	return ""
}
