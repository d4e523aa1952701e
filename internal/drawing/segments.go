package drawing

import "math"

// segments are the straight strokes an item is seen by; curves are parted.
func segments(it Item) [][2]Point {
	switch v := it.(type) {
	case Line:
		if v.Pen.Role != None {
			return [][2]Point{{{v.X1, v.Y1}, {v.X2, v.Y2}}}
		}
	case Hatch:
		return v.strokes()
	case Rect:
		if v.Pen.Role != None {
			a, b, c, d := Point{v.X, v.Y}, Point{v.X + v.W, v.Y}, Point{v.X + v.W, v.Y + v.H}, Point{v.X, v.Y + v.H}
			return [][2]Point{{a, b}, {b, c}, {c, d}, {d, a}}
		}
	case Circle:
		if v.Pen.Role != None {
			return around(v)
		}
	case Path:
		if v.Pen.Role != None {
			return along(v)
		}
	}
	return nil
}

func around(c Circle) [][2]Point {
	const n = 32
	at := func(i int) Point {
		s, co := math.Sincos(2 * math.Pi * float64(i) / n)
		return Point{c.X + c.R*Px(co), c.Y + c.R*Px(s)}
	}
	out := make([][2]Point, n)
	for i := range out {
		out[i] = [2]Point{at(i), at(i + 1)}
	}
	return out
}

func along(p Path) [][2]Point {
	var out [][2]Point
	var first, last Point
	for _, s := range p.Steps {
		switch s.Kind {
		case MoveTo:
			first = s.P
		case LineTo:
			out = append(out, [2]Point{last, s.P})
		case CurveTo:
			prev := last
			for i := 1; i <= 8; i++ {
				q := bezier(last, s.A, s.B, s.P, Px(i)/8)
				out = append(out, [2]Point{prev, q})
				prev = q
			}
		}
		last = s.P
	}
	if p.Closed && last != first {
		out = append(out, [2]Point{last, first})
	}
	return out
}

func bezier(a, b, c, d Point, t Px) Point {
	u := 1 - t
	f := func(a, b, c, d Px) Px { return u*u*u*a + 3*u*u*t*b + 3*u*t*t*c + t*t*t*d }
	return Point{f(a.X, b.X, c.X, d.X), f(a.Y, b.Y, c.Y, d.Y)}
}

// crosses clips the segment to the box (Liang and Barsky) and reports whether
// anything is left.
func crosses(b Extent, s [2]Point) bool {
	lo, hi := Px(0), Px(1)
	dx, dy := s[1].X-s[0].X, s[1].Y-s[0].Y
	for _, e := range [][2]Px{{-dx, s[0].X - b.Left}, {dx, b.Right - s[0].X}, {-dy, s[0].Y - b.Top}, {dy, b.Bottom - s[0].Y}} {
		p, q := e[0], e[1]
		switch {
		case p == 0 && q <= 0:
			return false
		case p < 0:
			lo = max(lo, q/p)
		case p > 0:
			hi = min(hi, q/p)
		}
	}
	return lo < hi
}
