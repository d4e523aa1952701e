package harness

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Draw makes the whole harness as one picture, as tall as it comes.
func (t *Tree) Draw() *drawing.Drawing {
	d := &drawing.Drawing{Name: t.Name, Title: t.Title, W: t.Width, H: 24}
	if len(t.Places) == 0 {
		d.Add(drawing.Text{Y: 16, S: "no place is described yet", Size: lettering, Role: drawing.Soft})
		return d
	}
	l, _ := t.choose(0)
	return (&inker{laid: l, d: d}).draw()
}

// choose takes the greatest scale at which the bars stand in the first part of
// the sheet and every row within it, and, when a height is given, within that.
func (t *Tree) choose(height Px) (l *laid, fits bool) {
	for _, s := range scales {
		l = t.lay(s)
		if l.within() && (height == 0 || l.h+l.footH() <= height) {
			return l, true
		}
	}
	return l, false
}

// within reports whether the bars stand in the first part of the sheet and every
// row within it.
func (l *laid) within() bool {
	return l.w <= l.t.Width+0.01 && slices.Max(l.barX)-l.leadX <= deepFrac*(l.t.Width-l.leadX)
}

const deepFrac = 0.78

// inker draws a layout.
type inker struct {
	*laid
	d     *drawing.Drawing
	where map[Spot]standing
	holes []drawing.Extent // balloons: lines end at them
	on    map[Spot][]int   // stops at a thing
	inRow map[Spot][]int   // stops in a row, by its first thing
	rows  []Spot           // rows with stops, in walking order
	leads []int            // rows before the root
}

var (
	rail = drawing.Pen{Role: drawing.Grey, Width: 1.3}
	fine = drawing.Pen{Role: drawing.Grey, Width: 0.8}
)

func (k *inker) draw() *drawing.Drawing {
	k.body()
	k.foot()
	return k.d
}

// body draws all but the foot.
func (k *inker) body() {
	k.d.W, k.d.H = k.w, k.h
	k.where = k.find()
	_, _, k.leads = k.t.lead()
	k.numberStops()
	k.rails()
	k.bundles()
	k.way()
	for p := range k.t.Places {
		if k.reached[p] {
			k.place(p)
		}
	}
	for p := range k.t.Places {
		if k.reached[p] && k.in[p].bundle >= 0 {
			k.measure(k.in[p])
		}
	}
	k.balloons()
}

// bundles draws stretches and bars as two lines with paper between, joined where
// they meet.
func (k *inker) bundles() {
	var outer, inner []drawing.Item
	put := func(thick Px, pts ...drawing.Point) {
		outer = append(outer, drawing.Polyline(drawing.Pen{Role: drawing.Grey, Width: thick}, pts...))
		inner = append(inner, drawing.Polyline(drawing.Pen{Role: drawing.Paper, Width: thick - 2.2}, pts...))
	}
	for p := range k.t.Places {
		if !k.reached[p] {
			continue
		}
		if r := k.in[p]; r.bundle >= 0 {
			put(r.thick, drawing.Point{X: k.barX[r.parent], Y: k.lineY[p]}, drawing.Point{X: k.barX[p], Y: k.lineY[p]})
			if b := k.t.Bundles[r.bundle]; b.BesideMM > 0 {
				y := k.lineY[p] + r.thick/2 + besideGap + b.beside()/2
				put(b.beside(), drawing.Point{X: k.barX[r.parent], Y: y}, drawing.Point{X: k.barX[p], Y: y})
			}
		}
		if top, bottom, thick := k.bar(p); bottom > top {
			put(thick, drawing.Point{X: k.barX[p], Y: top}, drawing.Point{X: k.barX[p], Y: bottom})
		}
	}
	k.d.Add(drawing.Group{ID: k.t.id("bundles"), Items: append(outer, inner...)})
}

// bar is how far a place's bar reaches: over all that hangs on it, squared at
// its corners.
func (k *inker) bar(p int) (top, bottom, thick Px) {
	y := k.lineY[p]
	top, bottom, thick = y, y, thinnest
	for _, c := range k.children[p] {
		if at := k.lineY[c]; at != y {
			half := k.in[c].thick / 2
			top, bottom, thick = min(top, at-half), max(bottom, at+half), max(thick, k.in[c].thick)
		}
	}
	if len(k.strips[p].rails) > 0 {
		top, bottom = min(top, k.feedY[p]-1), max(bottom, k.feedY[p]+1)
	}
	if p == k.t.Root {
		for _, i := range k.leads {
			if at, ok := k.where[Spot{p, i, 0}]; ok {
				top, bottom = min(top, at.line), max(bottom, at.line)
			}
		}
	}
	if bottom-top < 3 {
		return y, y, thick
	}
	return top, bottom, thick
}

// rails draws the bars to the rows, the feeders above them and the lines of the
// rows.
func (k *inker) rails() {
	g := drawing.Group{ID: k.t.id("rails")}
	put := func(pen drawing.Pen, pts ...drawing.Point) {
		for _, s := range k.cut(pts) {
			g.Items = append(g.Items, drawing.Polyline(pen, s...))
		}
	}
	for p := range k.t.Places {
		if !k.reached[p] {
			continue
		}
		s, x, y := k.strips[p], k.barX[p], k.feedY[p]
		if n := len(s.rails); n > 1 {
			put(rail, drawing.Point{X: x, Y: y}, drawing.Point{X: x + s.rails[n-1], Y: y})
		}
		for i, rx := range s.rails {
			put(rail, drawing.Point{X: x + rx, Y: y}, drawing.Point{X: x + rx, Y: y + k.railFoot(p, i)})
		}
		for _, c := range s.cells {
			k.rowLine(p, c.row, put)
		}
	}
	for _, i := range k.leads {
		k.rowLine(k.t.Root, i, put)
	}
	k.d.Add(g)
}

// railFoot is how far a rail reaches: to the line of its last row.
func (k *inker) railFoot(p, column int) Px {
	foot := Px(0)
	s := k.strips[p]
	for _, c := range s.cells {
		if c.x != s.rails[column] {
			continue
		}
		y := c.y
		if at, ok := k.where[Spot{p, c.row, 0}]; ok {
			y = at.line - k.feedY[p]
		}
		foot = max(foot, y)
	}
	return foot
}

// rowLine draws the line of a row and its drops to the faces.
func (k *inker) rowLine(p, row int, put func(drawing.Pen, ...drawing.Point)) {
	r := k.t.Places[p].Rows[row]
	n := len(r.Things)
	if n == 0 {
		return
	}
	first, last := k.where[Spot{p, row, 0}], k.where[Spot{p, row, n - 1}]
	switch {
	case first.lead:
		put(rail, drawing.Point{X: last.mid.X + last.w/2, Y: first.line}, first.rail)
	case first.shared:
		put(rail, first.rail, drawing.Point{X: last.mid.X, Y: last.line})
		for i := range n {
			s := k.where[Spot{p, row, i}]
			put(rail, drawing.Point{X: s.mid.X, Y: s.mid.Y + s.h/2}, drawing.Point{X: s.mid.X, Y: s.line})
		}
	default:
		put(rail, first.rail, drawing.Point{X: first.mid.X - first.w/2, Y: first.line})
	}
}

// place draws a place's name, its rows and its landmark.
func (k *inker) place(p int) {
	pl := k.t.Places[p]
	g := drawing.Group{ID: k.t.id("place", p+1), Title: pl.Name}
	x, y := k.barX[p], k.feedY[p]
	if k.strips[p].named {
		name, more := pl.heading()
		at := x + 8
		for _, part := range []drawing.Text{{S: name, Bold: true}, {S: pl.Note.Text, Bold: true, Ref: pl.Note.Ref}, {S: more}} {
			if part.S == "" {
				continue
			}
			if part.S == more {
				at += 5
			}
			part.X, part.Y, part.Size, part.Role = at, y-6, lettering, k.role(false, false)
			g.Items = append(g.Items, part)
			at += typeface.WidthPx(part.S, lettering, part.Bold)
		}
	}
	g.Items = append(g.Items, drawing.Circle{X: x, Y: k.lineY[p], R: 3, Fill: drawing.Filled(drawing.Grey)})
	for i := range pl.Rows {
		g.Items = append(g.Items, k.row(p, i))
	}
	k.d.Add(g)
}

// role is what lettering is in: soft where something else is picked.
func (k *inker) role(bad, picked bool) drawing.Role {
	switch {
	case bad:
		return drawing.Accent
	case picked || k.t.Way == nil:
		return drawing.Ink
	}
	return drawing.Soft
}

func (k *inker) row(p, i int) drawing.Group {
	r := k.t.Places[p].Rows[i]
	g := drawing.Group{ID: k.t.id("row", p+1, i+1)}
	picked, label := false, r.Label
	for j, t := range r.Things {
		stops := k.on[Spot{p, i, j}]
		if len(stops) > 0 && t.Label != "" {
			label = t.Label
		}
		picked = picked || len(stops) > 0
		g.Items = append(g.Items, drawing.Group{ID: k.t.id(t.ID), Title: t.Title, To: t.To, Items: k.face(r, t, k.where[Spot{p, i, j}], stops)})
	}
	s, ok := k.where[Spot{p, i, 0}]
	if !ok {
		return g
	}
	text := drawing.Text{X: s.label.X, Y: s.label.Y, S: label, Size: lettering, Role: k.role(r.Bad, picked), Bold: r.Bad || picked}
	if s.lead {
		text.Anchor = drawing.End
	}
	if r.Figure.Text != "" {
		f := text
		f.S, f.Ref = r.Figure.Text, r.Figure.Ref
		if s.lead {
			text.X -= figureGap + typeface.WidthPx(f.S, lettering, f.Bold)
		} else {
			f.X += figureGap + typeface.WidthPx(label, lettering, f.Bold)
		}
		g.Items = append(g.Items, f)
	}
	if r.Bond != Loose {
		x := text.X + typeface.WidthPx(label, lettering, text.Bold) + bondGap
		if s.lead {
			x = text.X - typeface.WidthPx(label, lettering, text.Bold) - bondGap - bondW
		}
		pen := rail
		if picked {
			pen.Role = drawing.Ink
		}
		g.Items = append(g.Items, bond(r.Bond, x, text.Y-4, pen)...)
	}
	if len(r.Things) == 1 { // the label is the thing's, and leads with it
		one := g.Items[0].(drawing.Group)
		one.Items = append(one.Items, text)
		g.Items[0] = one
		return g
	}
	g.Items = append(g.Items, text)
	return g
}

// measure draws a stretch's dimension: its length in millimetres between two
// ticks, underlined when the drawing does not hold it.
func (k *inker) measure(r run) {
	b := k.t.Bundles[r.bundle]
	x1, x2, y := k.barX[r.parent]+6, k.barX[r.node]-4, k.lineY[r.node]-r.thick/2-6
	mid := (x1 + x2) / 2
	if k.t.Places[r.node].Bulkhead {
		mid -= bulkheadPx
	}
	f := drawing.Text{X: mid, Y: y - 6, S: b.figure(), Size: lettering, Anchor: drawing.Middle, Role: k.role(false, false), Ref: b.Ref}
	g := drawing.Group{ID: k.t.id("length", r.node+1), Items: []drawing.Item{
		drawing.Line{X1: x1, Y1: y, X2: x2, Y2: y, Pen: fine},
		drawing.Line{X1: x1 - 2.5, Y1: y + 2.5, X2: x1 + 2.5, Y2: y - 2.5, Pen: drawing.Pen{Role: drawing.Grey, Width: 1.2}},
		drawing.Line{X1: x2 - 2.5, Y1: y + 2.5, X2: x2 + 2.5, Y2: y - 2.5, Pen: drawing.Pen{Role: drawing.Grey, Width: 1.2}},
		f,
	}}
	if r.broken || r.stretched {
		half := typeface.WidthPx(f.S, lettering, false) / 2
		g.Items = append(g.Items, drawing.Line{X1: f.X - half, Y1: f.Y + 3.2, X2: f.X + half, Y2: f.Y + 3.2, Pen: drawing.Pen{Role: f.Role, Width: 1.2}})
	}
	if r.broken {
		g.Items = append(g.Items, breakSign(mid, k.lineY[r.node], r.thick)...)
	}
	if k.t.Places[r.node].Bulkhead {
		x := k.barX[r.node] - bulkheadPx
		g.Items = append(g.Items, drawing.Line{X1: x, Y1: k.lineY[r.node] - bulkheadH, X2: x, Y2: k.lineY[r.node] + bulkheadH, Pen: drawing.Pen{Role: drawing.Grey, Width: 1.3, Dash: drawing.DashDot}})
	}
	k.d.Add(g)
}

// breakSign says that a piece is left out.
func breakSign(x, y, thick Px) []drawing.Item {
	h := thick/2 + 4
	zig := func(dx Px) drawing.Item {
		return drawing.Polyline(drawing.Pen{Role: drawing.Grey, Width: 1.2},
			drawing.Point{X: x + dx + 2, Y: y - h}, drawing.Point{X: x + dx - 2, Y: y - 1}, drawing.Point{X: x + dx + 2, Y: y + 1}, drawing.Point{X: x + dx - 2, Y: y + h})
	}
	return []drawing.Item{drawing.Rect{X: x - 3.5, Y: y - thick/2 - 1, W: 7, H: thick + 2, Fill: drawing.Filled(drawing.Paper)}, zig(-3.5), zig(3.5)}
}

// foot writes the scale and what the signs mean.
func (k *inker) foot() {
	y := k.h + 14
	w := k.scaleBar()
	pen := drawing.Pen{Role: drawing.Ink, Width: 1.2}
	k.d.Add(drawing.Line{X1: margin, Y1: y - 4, X2: margin + w, Y2: y - 4, Pen: pen},
		drawing.Line{X1: margin, Y1: y - 9, X2: margin, Y2: y + 1, Pen: pen}, drawing.Line{X1: margin + w, Y1: y - 9, X2: margin + w, Y2: y + 1, Pen: pen})
	for _, line := range k.footLines() {
		k.d.Add(drawing.Text{X: margin + w + 8, Y: y, S: line, Size: lettering, Role: drawing.Soft})
		y += footLine
	}
	k.drawKey(y + 2)
	k.d.H = k.h + k.footH()
}

const footLine = 16

// barMM is the length of the scale bar.
func (l *laid) barMM() drawing.Number {
	mm := drawing.Number(500)
	for Px(mm)*typeface.PxPerMM/Px(l.scale) > 120 {
		mm /= 5
	}
	return mm
}

func (l *laid) scaleBar() Px { return Px(l.barMM()) * typeface.PxPerMM / Px(l.scale) }

func (l *laid) footH() Px {
	return 12 + footLine*Px(len(l.footLines())) + keyLine*Px(len(l.keyRows()))
}

// footLines say what the lines measure, and which places nothing leads to.
func (l *laid) footLines() []string {
	times := math.Max(1, math.Round(float64(thickPerMM)/(typeface.PxPerMM/float64(l.scale))))
	s := fmt.Sprintf("Level lines 1 : %d on paper; the bar is %s long. Lengths in mm, underlined: not to scale.", l.scale, whole(l.barMM()))
	if times > 1 && len(l.t.Bundles) > 0 {
		s += fmt.Sprintf(" Bundles %.0f times as thick.", times)
	}
	var lost []string
	for p := range l.t.Places {
		if !l.reached[p] && l.t.Places[p].Name != "" {
			lost = append(lost, l.t.Places[p].Name)
		}
	}
	if len(lost) > 0 {
		s += " Joined to nothing: " + strings.Join(lost, ", ") + "."
	}
	return typeface.Wrap(s, l.w-2*margin-l.scaleBar()-8, lettering, false)
}
