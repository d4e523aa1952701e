package drawing

// curveLines draws the curves and their bounds, and takes their room.
func (r *plotter) curveLines() []Item {
	var out []Item
	for i, c := range r.Curves {
		g := Group{ID: r.id("curve", i), Title: c.Label.Text, Ref: c.Label.Ref}
		for _, edge := range [][]Number{c.Low, c.High} {
			for _, st := range r.within(r.points(c.Second, c.X, edge)) {
				g.Items = append(g.Items, Polyline(Pen{Role: Grey, Width: 1}, st...))
			}
		}
		for _, st := range r.within(r.points(c.Second, c.X, c.Y)) {
			g.Items = append(g.Items, Polyline(c.pen(), st...))
		}
		r.board.block(g)
		out = append(out, g)
	}
	return out
}

// limitLines draws the limits, cut to the frame.
func (r *plotter) limitLines() []Item {
	var out []Item
	pen := Pen{Role: Ink, Width: 1.4}
	for _, l := range r.Limits {
		if s, ok := r.limitStroke(l); ok {
			out = append(out, Line{s[0].X, s[0].Y, s[1].X, s[1].Y, pen})
		}
	}
	for _, g := range r.Barred {
		stretches := r.points(g.Second, g.X, g.Y)
		if g.Side == Inside && len(stretches) == 1 {
			stretches[0] = append(stretches[0], stretches[0][0])
		}
		for _, st := range r.within(stretches) {
			out = append(out, Polyline(pen, st...))
		}
	}
	r.board.block(out...)
	return out
}

func (r *plotter) limitStroke(l Limit) ([2]Point, bool) {
	f := r.frame
	if l.ofX() {
		x, ok := r.x.at(l.At)
		return [2]Point{{x, f.Top}, {x, f.Bottom}}, ok && r.x.holds(l.At)
	}
	s := r.yOf(l.Second)
	y, ok := s.at(l.At)
	return [2]Point{{f.Left, y}, {f.Right, y}}, ok && s.holds(l.At)
}

// barred hatches what is not allowed.
func (r *plotter) barred() []Item {
	var strokes [][2]Point
	f := r.frame
	for _, l := range r.Limits {
		e := f
		s, ok := r.limitStroke(l)
		if l.Side == NoSide || !ok {
			continue
		}
		switch at := s[0]; l.Side {
		case Above:
			e.Bottom = at.Y
		case Below:
			e.Top = at.Y
		case Beyond:
			e.Left = at.X
		case Before:
			e.Right = at.X
		}
		strokes = append(strokes, hatched(corners(e), 7)...)
	}
	for _, g := range r.Barred {
		for _, st := range r.points(g.Second, g.X, g.Y) {
			for _, s := range hatched(r.outline(g.Side, st), 7) {
				if lo, hi, ok := clip(f, s); ok {
					strokes = append(strokes, [2]Point{between(s, lo), between(s, hi)})
				}
			}
		}
	}
	strokes = cutAll(strokes, r.holes)
	if len(strokes) == 0 {
		return nil
	}
	return []Item{strokesPath(Pen{Role: Grey, Width: 0.8}, strokes)}
}

func corners(e Extent) []Point {
	return []Point{{e.Left, e.Top}, {e.Right, e.Top}, {e.Right, e.Bottom}, {e.Left, e.Bottom}}
}

// outline closes a line through points round the barred side.
func (r *plotter) outline(side Side, st []Point) []Point {
	f := r.frame
	if len(st) < 2 {
		return nil
	}
	a, b := st[0], st[len(st)-1]
	out := append([]Point{}, st...)
	switch side {
	case Above:
		return append(out, Point{b.X, f.Top}, Point{a.X, f.Top})
	case Below:
		return append(out, Point{b.X, f.Bottom}, Point{a.X, f.Bottom})
	case Beyond:
		return append(out, Point{f.Right, b.Y}, Point{f.Right, a.Y})
	case Before:
		return append(out, Point{f.Left, b.Y}, Point{f.Left, a.Y})
	case Inside:
		return out
	}
	return nil
}

// grid draws the lines of the ticks, standing back from lettering, and writes
// their figures.
func (r *plotter) grid() []Item {
	f := r.frame
	var hair, fine [][2]Point
	var out []Item
	across := r.x.log
	for _, v := range r.x.minor {
		if x, ok := r.x.at(v); ok {
			fine = append(fine, [2]Point{{x, f.Top}, {x, f.Bottom}})
		}
	}
	for _, v := range r.y.minor {
		if y, ok := r.y.at(v); ok {
			fine = append(fine, [2]Point{{f.Left, y}, {f.Right, y}})
		}
	}
	for _, t := range r.y.ticks {
		if y, ok := r.y.at(t.At); ok {
			hair = append(hair, [2]Point{{f.Left, y}, {f.Right, y}})
		}
	}
	if across {
		for _, t := range r.x.ticks {
			if x, ok := r.x.at(t.At); ok {
				hair = append(hair, [2]Point{{x, f.Top}, {x, f.Bottom}})
			}
		}
		out = append(out, Rect{X: f.Left, Y: f.Top, W: f.Right - f.Left, H: f.Bottom - f.Top, Pen: Pen{Role: Grey, Width: 1}})
	}
	thinner := Hair
	thinner.Width = 0.5
	out = append(out, strokesPath(thinner, cutAll(fine, r.holes)), strokesPath(Hair, cutAll(hair, r.holes)))
	if y, ok := r.y.at(0); ok && r.y.lo < 0 && r.y.hi > 0 {
		out = append(out, strokesPath(Pen{Role: Grey, Width: 1}, cut([2]Point{{f.Left, y}, {f.Right, y}}, r.holes)))
	}
	out = append(out, Line{f.Left, f.Bottom, f.Right, f.Bottom, Thin})
	out = append(out, r.xTicks()...)
	out = append(out, r.yTicks(&r.y, f.Left-8, End)...)
	if r.Y2 != nil {
		out = append(out, r.yTicks(&r.y2, f.Right+8, Start)...)
		for _, t := range r.y2.ticks {
			if y, ok := r.y2.at(t.At); ok {
				out = append(out, Line{f.Right, y, f.Right + 4, y, Pen{Role: Grey, Width: 1}})
			}
		}
	}
	return out
}

// xTicks writes the figures under the frame; one that has no room is left out,
// its tick is not.
func (r *plotter) xTicks() []Item {
	var out []Item
	end := Px(-1e9)
	for _, t := range r.x.ticks {
		x, ok := r.x.at(t.At)
		if !ok {
			continue
		}
		out = append(out, Line{x, r.frame.Bottom, x, r.frame.Bottom + 4, Thin})
		text := Text{X: x, Y: r.frame.Bottom + 17, S: t.Text, Size: noteSize, Anchor: Middle, Role: Soft}
		e := text.Extent()
		if e.Left < 0 {
			text.X -= e.Left
		} else if e.Right > r.d.W {
			text.X -= e.Right - r.d.W
		}
		if e = text.Extent(); e.Left > end+6 && t.Text != "" {
			out, end = append(out, text), e.Right
		}
	}
	return out
}

func (r *plotter) yTicks(s *scale, x Px, a Anchor) []Item {
	var out []Item
	last := Px(1e9)
	for _, t := range s.ticks {
		y, ok := s.at(t.At)
		text := Text{X: x, Y: y + 4.2, S: t.Text, Size: noteSize, Anchor: a, Role: Soft}
		if e := text.Extent(); ok && t.Text != "" && e.Bottom < last {
			out, last = append(out, text), e.Top
		}
	}
	return out
}
