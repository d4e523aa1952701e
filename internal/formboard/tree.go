package formboard

import (
	"fmt"
	"strings"

	"fettle/internal/drawing/harness"
)

// Tree is the harness as it is drawn; to makes the address a thing leads to, nil
// on paper.
func (b *Board) Tree(name string, width harness.Px, to func(id string) string) harness.Tree {
	t := harness.Tree{Name: name, Title: "The harness of the " + b.Design.File.Name, Width: width, Root: b.root, Bundles: b.bundles}
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

// Fold leaves out the rows of the places that a tree's way does not stop at, so
// that it is seen whole; their names say how much is there.
func Fold(t *harness.Tree) {
	if t.Way == nil {
		return
	}
	stops := map[int]bool{}
	for _, s := range t.Way.Stops {
		stops[s.Spot.Place] = true
		for _, o := range s.Then.Over {
			stops[o.Place] = true
		}
	}
	places := append([]harness.Place{}, t.Places...)
	for i := range places {
		p := &places[i]
		n := 0
		for _, r := range p.Rows {
			n += len(r.Things)
		}
		if stops[i] || i == t.Root || n == 0 {
			continue
		}
		p.Rows = nil
		p.More = strings.TrimSpace(fmt.Sprintf("%s (%d more)", p.More, n))
	}
	t.Places = places
}
