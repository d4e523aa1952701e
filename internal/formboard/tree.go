package formboard

import (
	"fettle/internal/drawing/harness"
)

// Links makes the addresses of a drawing's parts; nil on paper.
type Links struct {
	Thing func(id string) string // "X12", "S3", "G1"
	Stop  func(n int) string     // station of the picked way, from 1
}

// Tree is the harness as it is drawn.
func (b *Board) Tree(name string, width harness.Px, links *Links) harness.Tree {
	t := harness.Tree{Name: name, Title: "The harness of the " + b.Design.File.Name, Width: width, Root: b.root, Bundles: b.bundles}
	for _, p := range b.places {
		q := p
		q.Rows = make([]harness.Row, len(p.Rows))
		for i, r := range p.Rows {
			q.Rows[i] = r
			q.Rows[i].Things = append([]harness.Thing{}, r.Things...)
			if links == nil || links.Thing == nil || r.Sign == harness.Onward {
				continue
			}
			for k := range r.Things {
				q.Rows[i].Things[k].Ref = links.Thing(r.Things[k].ID)
			}
		}
		t.Places = append(t.Places, q)
	}
	return t
}
