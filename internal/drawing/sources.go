package drawing

import (
	"fmt"
	"slices"

	"fettle/internal/typeface"
)

// stand draws the sources and says at which heights they stand on what joins
// them, and where the next may begin.
func (o OneLine) stand(d *Drawing, l oneLayout, top Px) (stands []Px, next Px) {
	next = top
	for i, s := range o.Sources {
		g, stand, foot := o.sourceItems(i, s, l, next)
		d.Add(g)
		stands = append(stands, stand)
		next = foot + 12
	}
	if o.Feed != nil && len(stands) > 0 {
		d.Add(o.posts(l, stands, top)...)
		return []Px{top + 24}, next
	}
	return stands, next
}

// bar is the busbar; with the sources over the branches it bends between them.
func (o OneLine) bar(l oneLayout, top, bend Px, taps, stands []Px) []Item {
	reach := func(ys []Px) (hi Px) {
		for _, y := range ys {
			hi = max(hi, y)
		}
		return hi + 10
	}
	if !l.over || len(stands) == 0 {
		return []Item{Line{l.bus, top - 14, l.bus, reach(append(slices.Clone(taps), stands...)), Heavy}}
	}
	if len(taps) == 0 {
		return []Item{Line{l.top, top - 14, l.top, reach(stands), Heavy}}
	}
	return []Item{
		Line{l.top, top - 14, l.top, bend, Heavy}, Line{l.bus, bend, l.top, bend, Heavy}, Line{l.bus, bend, l.bus, reach(taps), Heavy},
	}
}

// posts joins the sources and leads from there to the busbar.
func (o OneLine) posts(l oneLayout, stands []Px, top Px) []Item {
	hi := top + 24
	for _, y := range stands {
		hi = max(hi, y)
	}
	items := []Item{Line{l.post, top - 14, l.post, hi + 10, Heavy}, o.text(l.post+4, 12, o.Post, End, Ink, true), Line{l.post, top + 24, l.top, top + 24, oneWire}}
	return append(items, fuseItems(o.Feed, l.lead, top+24)...)
}

// sourceItems draws a source left of what it stands on and says at which height
// and where the next may begin.
func (o OneLine) sourceItems(i int, s Source, l oneLayout, y Px) (Group, Px, Px) {
	g := Group{ID: fmt.Sprintf("%s-source-%d", o.Name, i+1)}
	pen, role := Firm, Ink
	if s.Bad {
		pen, role = Pen{Role: Accent, Width: 2}, Accent
	}
	sg := sign(s.Kind, "", 1, 1, pen)
	at := y + 24
	g.Items = append(g.Items, Shift(sg.items, l.source, at)...)
	text := l.source + 26
	g.Items = append(g.Items, Line{l.source + sg.right, at, l.post, at, oneWire})
	lineY := at + labelLow + 3
	if s.Fuse != nil {
		g.Items = append(g.Items, fuseItems(s.Fuse, (text+l.post)/2, at)...)
		if low(s.Fuse) {
			lineY += leading
		}
	}
	for _, n := range typeface.Wrap(s.Name, l.sourceText, oneSize, true) {
		g.Items = append(g.Items, Text{X: text, Y: lineY, S: n, Size: oneSize, Bold: true, Role: role, Ref: s.Ref})
		lineY += leading
	}
	for _, f := range s.Figures {
		for _, n := range typeface.Wrap(f.Text, l.sourceText, oneSize, f.Bad) {
			g.Items = append(g.Items, o.text(text, lineY, Label{n, f.Ref, f.Bad}, Start, Soft, false))
			lineY += leading
		}
	}
	foot := o.foot(s, sg, l, at, lineY, &g)
	return g, at, max(lineY-leading+6, foot)
}

// foot grounds a source and says how far down that reaches; free is the first
// base line that the source's own lettering leaves free.
func (o OneLine) foot(s Source, sg symbol, l oneLayout, at, free Px, g *Group) Px {
	x, from := l.source, at+sg.down
	if s.Kind == Battery { // its negative post is the plate at the left
		x, from = l.source-sg.left-4, at
		g.Items = append(g.Items, Line{l.source - sg.left, at, x, at, oneWire})
	}
	gy := at + sg.down + 12
	g.Items = append(g.Items, Line{x, from, x, gy, oneWire})
	g.Items = append(g.Items, earth(x, gy, 0, oneWire)...)
	if s.Ground == "" {
		return gy + 12
	}
	base, half := gy+22, wide(s.Ground, false)/2
	if max(x, half+1)+half > l.source+22 {
		base = max(base, free)
	}
	g.Items = append(g.Items, Text{X: max(x, half+1), Y: base, S: s.Ground, Size: oneSize, Anchor: Middle, Role: Soft})
	return base + 4
}
