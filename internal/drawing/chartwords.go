package drawing

import (
	"math"

	"fettle/internal/typeface"
)

// place sets lettering where it was found to be free.
func (r *plotter) place(texts []Text) []Item {
	out := items(texts)
	r.board.block(out...)
	r.holes = append(r.holes, enclosing(texts, 3))
	return out
}

// roleOf is ink, or the accent for what is wrong now.
func roleOf(bad bool) Role {
	if bad {
		return Accent
	}
	return Ink
}

// centred sets lines with the middle of their box at a place.
func centred(lines []string, mid Point, t Text) []Text {
	t.Anchor = Middle
	return stack(mid.X, mid.Y+4.4-Px(len(lines)-1)*leading/2, lines, t)
}

// half is half the width and height of lines.
func half(lines []string, bold bool) (Px, Px) {
	var w Px
	for _, l := range lines {
		w = max(w, typeface.WidthPx(l, noteSize, bold))
	}
	return w / 2, (Px(len(lines)-1)*leading + 12) / 2
}

// markSign draws a working point and takes its room; nil where it is off the
// chart.
func (r *plotter) markSign(i int, m Mark) *Group {
	s := r.yOf(m.Second)
	x, okX := r.x.at(m.X)
	y, okY := s.at(m.Y)
	if !okX || !okY || !r.x.holds(m.X) || !s.holds(m.Y) {
		return nil
	}
	c := m.circle()
	c.X, c.Y = x, y
	g := &Group{ID: r.id("mark", i), Ref: m.Label.Ref, Items: []Item{c}}
	r.board.block(*g)
	return g
}

func (m Mark) circle() Circle {
	pen := Pen{Role: roleOf(m.Label.Bad), Width: 1.5}
	fill := Filled(pen.Role)
	if m.Open {
		fill = Filled(Paper)
	}
	return Circle{R: markR, Pen: pen, Fill: fill}
}

// mark finds a place for the label of a working point, near it or at the end of a
// leader.
func (r *plotter) mark(g *Group, m Mark) []Item {
	c := m.circle()
	row := keyRow{Shift([]Item{c}, keySign/2, 0), m.Label}
	if g == nil {
		row.text.Text += " (off the chart)"
		r.key = append(r.key, row)
		return nil
	}
	if m.Label.Text == "" {
		return []Item{*g}
	}
	sign := g.Items[0].(Circle)
	most := min(labelMost, (r.frame.Right-r.frame.Left)*0.45)
	lines := typeface.Wrap(m.Label.Text, most, noteSize, m.Label.Bad)
	texts, leader := r.near(Point{sign.X, sign.Y}, lines, Text{Size: noteSize, Bold: m.Label.Bad, Role: c.Pen.Role, Ref: m.Label.Ref})
	if texts == nil {
		r.key = append(r.key, row)
		return []Item{*g}
	}
	if leader != nil {
		g.Items = append(g.Items, *leader)
		r.board.block(*leader)
	}
	g.Items = append(g.Items, r.place(texts)...)
	return []Item{*g}
}

// near seeks a free place round a point: the eight beside it, then farther out
// with a leader.
func (r *plotter) near(at Point, lines []string, t Text) ([]Text, *Line) {
	hw, hh := half(lines, t.Bold)
	for _, d := range []Px{9, 22, 36, 54, 76, 104, 140, 190} {
		for _, a := range []float64{-45, -135, 0, 180, -90, 90, 45, 135, -22, -158, 22, 158, -67, -113, 67, 113} {
			sin, cos := math.Sincos(a * math.Pi / 180)
			dir := Point{Px(cos), Px(sin)}
			mid := Point{at.X + dir.X*d + side(dir.X)*hw, at.Y + dir.Y*d + side(dir.Y)*hh}
			box := Extent{mid.X - hw, mid.Y - hh, mid.X + hw, mid.Y + hh}
			if !r.board.free(box.grown(2)) {
				continue
			}
			texts := centred(lines, mid, t)
			if d < 20 {
				return texts, nil
			}
			from := Point{at.X + dir.X*(markR+2), at.Y + dir.Y*(markR+2)}
			to := Point{at.X + dir.X*(d-3), at.Y + dir.Y*(d-3)}
			if r.board.clear([2]Point{from, to}) {
				return texts, &Line{from.X, from.Y, to.X, to.Y, Pen{Role: Grey, Width: 1}}
			}
		}
	}
	return nil, nil
}

// side is 1, -1 or, for what is nearly upright or level, 0.
func side(v Px) Px {
	switch {
	case v > 0.3:
		return 1
	case v < -0.3:
		return -1
	}
	return 0
}

// curveNames writes each curve's name at its right end, or beside it, or, when
// there is no room, under the plot.
func (r *plotter) curveNames() []Item {
	var out []Item
	var atEnd []int
	var ys, rooms []Px
	for i, c := range r.Curves {
		if y, ok := r.endsRight(c); ok && c.Label.Text != "" && r.margin > 0 {
			n := len(typeface.Wrap(c.Label.Text, r.margin, noteSize, c.bold()))
			atEnd, ys, rooms = append(atEnd, i), append(ys, y), append(rooms, Px(n)*leading+3)
		}
	}
	var sum Px
	for _, h := range rooms {
		sum += h
	}
	if sum > r.d.H-r.frame.Top { // more names than the margin holds
		atEnd = nil
	}
	placed := spread(ys, rooms, r.frame.Top-14, r.d.H-4)
	for k, i := range atEnd {
		out = append(out, r.endName(r.Curves[i], ys[k], placed[k])...)
	}
	for i, c := range r.Curves {
		if c.Label.Text != "" && !contains(atEnd, i) {
			out = append(out, r.besideName(c)...)
		}
	}
	return out
}

func contains(list []int, v int) bool {
	for _, x := range list {
		if x == v {
			return true
		}
	}
	return false
}

// endsRight says at what height a curve leaves the frame at the right.
func (r *plotter) endsRight(c Curve) (Px, bool) {
	st := r.within(r.points(c.Second, c.X, c.Y))
	if len(st) == 0 {
		return 0, false
	}
	last := st[len(st)-1]
	p := last[len(last)-1]
	return p.Y, p.X > r.frame.Right-3
}

func (r *plotter) endName(c Curve, y, mid Px) []Item {
	lines := typeface.Wrap(c.Label.Text, r.margin, noteSize, c.bold())
	top := mid - (Px(len(lines))*leading)/2
	texts := stack(r.frame.Right+20, top+11, lines, Text{Size: noteSize, Bold: c.bold(), Role: roleOf(c.Bad || c.Label.Bad), Ref: c.Label.Ref})
	f := r.frame.Right
	leader := Polyline(Pen{Role: Grey, Width: 1}, Point{f + 3, y}, Point{f + 16, mid})
	return append(items(texts), leader)
}

// besideName seeks a place along the curve, at its right end first.
func (r *plotter) besideName(c Curve) []Item {
	most := max(60, min(labelMost, (r.frame.Right-r.frame.Left)*0.5))
	t := Text{Size: noteSize, Bold: c.bold(), Role: roleOf(c.Bad || c.Label.Bad), Ref: c.Label.Ref}
	st := r.within(r.points(c.Second, c.X, c.Y))
	lines := typeface.Wrap(c.Label.Text, most, noteSize, t.Bold)
	if mid, ok := r.beside(st, lines, t.Bold); ok {
		return r.place(centred(lines, mid, t))
	}
	if c.Spare {
		return nil
	}
	l := c.Label
	l.Bad = l.Bad || c.Bad
	r.key = append(r.key, keyRow{[]Item{Line{0, 0, keySign, 0, c.pen()}}, l})
	return nil
}

// beside finds the middle of a free box that touches a curve nearly.
func (r *plotter) beside(stretches [][]Point, lines []string, bold bool) (Point, bool) {
	hw, hh := half(lines, bold)
	const air = 5
	best, found := Point{}, false
	score := Px(1e9)
	try := func(mid Point, cost Px) {
		box := Extent{mid.X - hw, mid.Y - hh, mid.X + hw, mid.Y + hh}
		if cost >= score || !r.board.free(box.grown(2)) {
			return
		}
		if !r.board.free(box.grown(3 * air).clippedTo(r.board.area)) {
			cost += 14 // its own curve is near, so may others be
		}
		if cost < score {
			best, score, found = mid, cost, true
		}
	}
	for _, st := range stretches {
		end := st[len(st)-1]
		try(Point{end.X + hw + 7, end.Y}, 0)
		for k := range 33 {
			p := alongAt(st, 1-Px(k)/32)
			cost := Px(k) * 1.2
			up, down := reach(st, p.X-hw-2, p.X+hw+2, false)
			try(Point{p.X, up - air - hh}, cost+(down-up))
			try(Point{p.X, down + air + hh}, cost+(down-up)+4)
			left, right := reach(st, p.Y-hh-2, p.Y+hh+2, true)
			try(Point{right + air + hw, p.Y}, cost+(right-left)+6)
			try(Point{left - air - hw, p.Y}, cost+(right-left)+8)
		}
	}
	return best, found
}

func (e Extent) clippedTo(o Extent) Extent {
	return Extent{max(e.Left, o.Left), max(e.Top, o.Top), min(e.Right, o.Right), min(e.Bottom, o.Bottom)}
}

// alongAt is the point of a stretch at a share of its run in x and y.
func alongAt(st []Point, t Px) Point {
	var total Px
	run := func(a, b Point) Px { return Px(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y))) }
	for i := 1; i < len(st); i++ {
		total += run(st[i-1], st[i])
	}
	want := t * total
	for i := 1; i < len(st); i++ {
		d := run(st[i-1], st[i])
		if want <= d && d > 0 {
			return between([2]Point{st[i-1], st[i]}, want/d)
		}
		want -= d
	}
	return st[len(st)-1]
}

// reach is the least and greatest y of a stretch between two x, or x between two
// y when turned.
func reach(st []Point, from, to Px, turned bool) (lo, hi Px) {
	lo, hi = 1e9, -1e9
	flip := func(p Point) Point {
		if turned {
			return Point{p.Y, p.X}
		}
		return p
	}
	for i := 1; i < len(st); i++ {
		a, b := flip(st[i-1]), flip(st[i])
		s := [2]Point{a, b}
		l, h, ok := clip(Extent{from, -2e5, to, 2e5}, s)
		if !ok {
			continue
		}
		for _, t := range []Px{l, h} {
			p := between(s, t)
			lo, hi = min(lo, p.Y), max(hi, p.Y)
		}
	}
	return lo, hi
}

// limitNames writes what each limit is beside its line, at the right first.
func (r *plotter) limitNames() []Item {
	var out []Item
	for _, l := range r.Limits {
		s, ok := r.limitStroke(l)
		if l.Label.Text == "" {
			continue
		}
		sign := []Item{Line{0, 0, keySign, 0, Pen{Role: Ink, Width: 1.4}}}
		if !ok {
			l.Label.Text += " (off the chart)"
			r.key = append(r.key, keyRow{sign, l.Label})
			continue
		}
		st := [][]Point{{s[0], s[1]}}
		if l.ofX() { // from the top
			st = [][]Point{{s[1], s[0]}}
		}
		out = append(out, r.lineName(st, l.Label, sign)...)
	}
	return out
}

func (r *plotter) lineName(st [][]Point, l Label, sign []Item) []Item {
	lines := typeface.Wrap(l.Text, max(60, min(labelMost+60, (r.frame.Right-r.frame.Left)*0.6)), noteSize, l.Bad)
	if mid, ok := r.beside(st, lines, l.Bad); ok {
		return r.place(centred(lines, mid, Text{Size: noteSize, Bold: l.Bad, Role: roleOf(l.Bad), Ref: l.Ref}))
	}
	r.key = append(r.key, keyRow{sign, l})
	return nil
}

// regionNames writes what bars a region within it, if there is room.
func (r *plotter) regionNames() []Item {
	var out []Item
	for _, g := range r.Barred {
		if g.Label.Text == "" {
			continue
		}
		sign := []Item{Hatch{X: 0, Y: -5, W: keySign, H: 10, Gap: 7, Pen: Pen{Role: Grey, Width: 0.8}}}
		out = append(out, r.lineName(r.within(r.points(g.Second, g.X, g.Y)), g.Label, sign)...)
	}
	return out
}
