package drawing

import (
	"fettle/internal/typeface"
)

// keyed is an entry of a plot's key: a stretch of its line, or its mark.
type keyed struct {
	Label
	sign Item
}

// points draws the marks and the labels of marks, limits and curves' ends. Those
// that find no room come back for the key.
func (p Plot) points(d *Drawing, f field) (rest []keyed) {
	for _, m := range p.Marks {
		at := f.at(m.At, m.OnRight)
		d.Add(m.sign(at))
	}
	for _, m := range p.Marks {
		if !f.label(d, m.Label, []Point{f.at(m.At, m.OnRight)}, 10) {
			rest = append(rest, keyed{m.Label, m.sign(Point{})})
		}
	}
	for _, l := range p.Limits {
		if l.Label.Text != "" && !f.label(d, l.Label, f.along(l), 6) {
			pen := l.Pen
			if pen.Role == None {
				pen = Pen{Role: Ink, Width: 1.4}
			}
			rest = append(rest, keyed{l.Label, Line{Pen: pen}})
		}
	}
	for _, c := range p.Curves {
		if c.End.Text == "" || len(c.Points) == 0 {
			continue
		}
		at := f.at(c.Points[len(c.Points)-1], c.OnRight)
		if !f.label(d, c.End, []Point{at}, 7) {
			rest = append(rest, keyed{c.End, Line{Pen: c.Pen}})
		}
	}
	return rest
}

func (m Mark) sign(at Point) Item {
	role := Ink
	if m.Label.Bad {
		role = Accent
	}
	if m.Open {
		return Circle{X: at.X, Y: at.Y, R: 4.5, Pen: Pen{Role: role, Width: 1.6}, Fill: Filled(Paper)}
	}
	return Circle{X: at.X, Y: at.Y, R: 4.5, Fill: Filled(role)}
}

// along are the places where a limit's label may begin.
func (f field) along(l Limit) []Point {
	var out []Point
	for i := range 10 {
		share := Px(i)/10 + 0.04
		if l.Upright {
			out = append(out, Point{f.at(Sample{l.At, f.y.lo}, false).X, f.Top + share*(f.Bottom-f.Top)})
		} else {
			out = append(out, Point{f.Right - share*(f.Right-f.Left), f.at(Sample{f.x.lo, l.At}, false).Y})
		}
	}
	return out
}

// label sets a text beside one of some points where nothing crosses it; false
// when there is no such place.
func (f field) label(d *Drawing, l Label, near []Point, off Px) bool {
	role := Ink
	if l.Bad {
		role = Accent
	}
	lift := typeface.CapPx(lettering)
	for _, far := range []Px{off, off + 6, off + 14, off + 26} {
		for _, at := range near {
			for _, t := range []Text{
				{X: at.X, Y: at.Y - far, Anchor: Middle},
				{X: at.X + far, Y: at.Y + lift/2},
				{X: at.X + far, Y: at.Y - far},
				{X: at.X + far, Y: at.Y + far + lift},
				{X: at.X - far, Y: at.Y - far, Anchor: End},
				{X: at.X - far, Y: at.Y + far + lift, Anchor: End},
				{X: at.X - far, Y: at.Y + lift/2, Anchor: End},
				{X: at.X, Y: at.Y + far + lift, Anchor: Middle},
			} {
				t.S, t.Size, t.Bold, t.Role, t.Ref = l.Text, lettering, l.Bad, role, l.Ref
				if f.free(d, t) {
					d.Add(t)
					return true
				}
			}
		}
	}
	return false
}

// free reports whether a text would stand clear within the drawing.
func (f field) free(d *Drawing, t Text) bool {
	b := t.Extent()
	b = Extent{b.Left - 2, b.Top - 2, b.Right + 2, b.Bottom + 2}
	if b.Left < f.Left || b.Right > d.W-2 || b.Top < 16 || b.Bottom > f.Bottom {
		return false
	}
	clear := true
	leaves(d.Items, "", func(it Item, _ string) {
		if !clear {
			return
		}
		if u, ok := it.(Text); ok {
			clear = !b.meets(u.Extent())
			return
		}
		if c, ok := it.(Circle); ok {
			clear = !b.meets(Extent{c.X - c.R, c.Y - c.R, c.X + c.R, c.Y + c.R})
			return
		}
		for _, s := range segments(it) {
			if crosses(b, s) {
				clear = false
				return
			}
		}
	})
	return clear
}

// key writes what the lines are, in as many columns as the width holds.
func (p Plot) key(d *Drawing, key []keyed) {
	x, y := Px(0), d.H+14
	for _, k := range key {
		lines := typeface.Wrap(k.Text, d.W-keySample-8, lettering, k.Bad)
		w := keySample + 8 + typeface.WidthPx(lines[0], lettering, k.Bad)
		if x > 0 && x+w > d.W {
			x, y = 0, y+20
		}
		switch s := k.sign.(type) {
		case Line:
			s.X1, s.Y1, s.X2, s.Y2 = x, y-4, x+keySample, y-4
			d.Add(s)
		case Circle:
			s.X, s.Y = x+keySample/2, y-4
			d.Add(s)
		}
		role := Ink
		if k.Bad {
			role = Accent
		}
		for i, line := range lines {
			d.Add(Text{X: x + keySample + 8, Y: y + Px(i)*leading, S: line, Size: lettering, Bold: k.Bad, Role: role, Ref: k.Ref})
		}
		if len(lines) > 1 {
			x, y = 0, y+20+Px(len(lines)-1)*leading
			continue
		}
		x += w + keyGap
	}
	if len(key) > 0 {
		d.H = y + 8
		if x == 0 { // the last entry ended its line
			d.H -= 20
		}
	}
}
