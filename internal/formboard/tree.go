package formboard

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/drawing/harness"
)

// Tree is the harness as it is drawn; to makes the address a thing leads to, nil
// on paper.
func (b *Board) Tree(name string, width harness.Px, to func(id string) string) harness.Tree {
	t := harness.Tree{Name: name, Title: "The harness of the " + b.Design.File.Name, Width: width, Root: b.root, Bundles: b.bundles}
	t.Beside = "crank, cam and knock, laid apart from the other"
	if to == nil { // on the page the list says how far, by a figure that opens
		t.Beside = "crank, cam and knock, " + b.apart() + " from the other"
	}
	for _, p := range b.places {
		q := p
		q.Rows = make([]harness.Row, len(p.Rows))
		for i, r := range p.Rows {
			q.Rows[i] = r
			q.Rows[i].Things = append([]harness.Thing{}, r.Things...)
			if to == nil || r.Sign == harness.Onward {
				continue
			}
			for k := range r.Things {
				q.Rows[i].Things[k].To = to(r.Things[k].ID)
			}
		}
		t.Places = append(t.Places, q)
	}
	return t
}

// Fold leaves out the rows that a tree's way does not stop at, so that it is seen
// whole; the names of their places say how much is there.
func Fold(t *harness.Tree) {
	if t.Way == nil {
		return
	}
	kept := map[harness.Spot]bool{} // rows, by their first thing
	each := func(do func(*harness.Spot)) {
		for i := range t.Way.Stops {
			do(&t.Way.Stops[i].Spot)
			for k := range t.Way.Stops[i].Then.Over {
				do(&t.Way.Stops[i].Then.Over[k])
			}
		}
	}
	row := func(p, r int) harness.Spot { return harness.Spot{Place: p, Row: r} }
	each(func(s *harness.Spot) { kept[row(s.Place, s.Row)] = true })
	places, now := slices.Clone(t.Places), map[harness.Spot]int{}
	for i := range places {
		p := &places[i]
		var rows []harness.Row
		n := 0
		for k, r := range p.Rows {
			if kept[row(i, k)] || i == t.Root && r.Lead && r.Sign == harness.Plug {
				now[row(i, k)] = len(rows)
				rows = append(rows, r)
			} else {
				n += len(r.Things)
			}
		}
		if p.Rows = rows; n > 0 {
			p.More = strings.TrimSpace(fmt.Sprintf("%s (%d more)", p.More, n))
		}
	}
	each(func(s *harness.Spot) { s.Row = now[row(s.Place, s.Row)] })
	t.Places = places
}
