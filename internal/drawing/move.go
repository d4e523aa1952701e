package drawing

// Shift returns the items moved by dx and dy.
func Shift(items []Item, dx, dy Px) []Item { return Move(items, Frame{dx, dy, 1}) }

// Move returns the items scaled about the origin and then moved: what [PDF] does
// when it places a drawing on a page.
func Move(items []Item, f Frame) []Item {
	k := Px(f.ScaleRatio)
	x := func(v *Px) { *v = *v*k + f.X }
	y := func(v *Px) { *v = *v*k + f.Y }
	size := func(vs ...*Px) {
		for _, v := range vs {
			*v *= k
		}
	}
	out := make([]Item, 0, len(items))
	for _, it := range items {
		switch v := it.(type) {
		case Line:
			x(&v.X1)
			x(&v.X2)
			y(&v.Y1)
			y(&v.Y2)
			size(&v.Pen.Width)
			it = v
		case Path:
			v.Steps = moveSteps(v.Steps, x, y)
			size(&v.Pen.Width)
			it = v
		case Rect:
			x(&v.X)
			y(&v.Y)
			size(&v.W, &v.H, &v.Pen.Width)
			it = v
		case Circle:
			x(&v.X)
			y(&v.Y)
			size(&v.R, &v.Pen.Width)
			it = v
		case Text:
			x(&v.X)
			y(&v.Y)
			size(&v.Size)
			it = v
		case Hatch:
			x(&v.X)
			y(&v.Y)
			size(&v.W, &v.H, &v.Gap, &v.Pen.Width)
			it = v
		case Group:
			v.Items = Move(v.Items, f)
			it = v
		}
		out = append(out, it)
	}
	return out
}

func moveSteps(steps []Step, x, y func(*Px)) []Step {
	out := make([]Step, len(steps))
	for i, s := range steps {
		for _, p := range []*Point{&s.A, &s.B, &s.P} {
			x(&p.X)
			y(&p.Y)
		}
		out[i] = s
	}
	return out
}
