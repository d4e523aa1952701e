package drawing

// Kind is what a node of a diagram is, and so which symbol stands for it.
type Kind uint8

// The kinds. Electrical symbols follow IEC 60617, the pump ISO 1219-1.
const (
	Box        Kind = iota // anything else
	Joint                  // where a stretch ends and another begins
	Battery                // plates
	Alternator             // G in a circle
	Motor                  // M in a circle: starter, fan
	Pump                   // circle with a triangle along the flow
	Rail                   // fuel rail with its injectors
	Engine                 // block seen from above, a bore per cylinder
	Gearbox                // two wheels in mesh
	Wheel                  // tyre and rim
)

// symbol is a drawn sign about the origin with its terminals at left and right.
type symbol struct {
	left, right Px // where a line meets it, from the centre
	up, down    Px // how far it reaches
	items       []Item
}

// sign makes the symbol of a kind; parts is the number of cylinders or
// injectors, banks the number of rows.
func sign(k Kind, mark string, parts, banks int, pen Pen) symbol {
	parts, banks = max(1, min(16, parts)), max(1, min(4, banks))
	switch k {
	case Joint:
		return symbol{left: 0, right: 0, up: 4, down: 4, items: []Item{Circle{R: 3, Fill: Filled(pen.Role)}}}
	case Battery:
		return plates(pen)
	case Alternator:
		s := lettered("G", pen, -1)
		s.items = append(s.items, sine(0, 11, 7, pen))
		return s
	case Motor:
		return lettered("M", pen, 5.5)
	case Pump:
		return symbol{24, 24, 24, 24, []Item{
			Circle{R: 24, Pen: pen},
			Path{Steps: poly(Point{24, 0}, Point{4, -13}, Point{4, 13}), Closed: true, Fill: Filled(pen.Role)},
		}}
	case Rail:
		return rail(parts, pen)
	case Engine:
		return block(parts, banks, pen)
	case Gearbox:
		return symbol{27, 27, 26, 26, []Item{
			Rect{X: -27, Y: -26, W: 54, H: 52, Pen: pen},
			Circle{X: -9, Y: 0, R: 9, Pen: thin(pen)},
			Circle{X: 10, Y: 0, R: 10, Pen: thin(pen)},
			Circle{X: -9, Y: 0, R: 1.6, Fill: Filled(pen.Role)},
			Circle{X: 10, Y: 0, R: 1.6, Fill: Filled(pen.Role)},
		}}
	case Wheel:
		return symbol{25, 25, 25, 25, []Item{
			Circle{R: 25, Pen: pen}, Circle{R: 15, Pen: thin(pen)}, Circle{R: 2.5, Fill: Filled(pen.Role)},
		}}
	}
	return boxed(mark, pen)
}

func thin(p Pen) Pen {
	p.Width = min(p.Width, 1.1)
	return p
}

func poly(pts ...Point) []Step { return Polyline(Pen{}, pts...).Steps }

func lettered(letter string, pen Pen, y Px) symbol {
	r := Px(20)
	return symbol{r, r, r, r, []Item{
		Circle{R: r, Pen: pen},
		Text{X: 0, Y: y, S: letter, Size: 15, Anchor: Middle, Bold: true, Role: pen.Role},
	}}
}

// sine is one wave of alternating current, centred.
func sine(x, y, half Px, pen Pen) Path {
	p := Polyline(thin(pen), Point{x - half, y})
	for i := Px(0); i < 2; i++ {
		a := x - half + i*half
		bump := 6 - 12*i
		p.Steps = append(p.Steps, Step{Kind: CurveTo, A: Point{a + half/3, y - bump}, B: Point{a + 2*half/3, y - bump}, P: Point{a + half, y}})
	}
	return p
}

// plates is a battery of two cells, its positive post at the right.
func plates(pen Pen) symbol {
	long, short := thin(pen), pen
	long.Width, short.Width = 1.5, 3.5
	s := symbol{left: 13, right: 13, up: 20, down: 16}
	for _, x := range []Px{-13, 5} {
		s.items = append(s.items, Line{x, -8, x, 8, short}, Line{x + 8, -16, x + 8, 16, long})
	}
	s.items = append(s.items, Line{-5, 0, 5, 0, thin(pen)})
	return s
}

func rail(parts int, pen Pen) symbol {
	pitch := Px(14)
	half := Px(parts)*pitch/2 + 4
	s := symbol{half, half, 8, 24, []Item{Rect{X: -half, Y: -7, W: 2 * half, H: 14, Pen: pen, Fill: Filled(Paper)}}}
	for i := range parts {
		x := (Px(i) - Px(parts-1)/2) * pitch
		s.items = append(s.items,
			Rect{X: x - 3, Y: 7, W: 6, H: 8, Pen: thin(pen)},
			Path{Steps: poly(Point{x - 3, 15}, Point{x, 23}, Point{x + 3, 15}), Pen: thin(pen)})
	}
	return s
}

func block(parts, banks int, pen Pen) symbol {
	inRow := (parts + banks - 1) / banks
	pitch := Px(17)
	half := Px(inRow)*pitch/2 + 5
	tall := Px(banks)*pitch/2 + 5
	s := symbol{half, half, tall, tall, []Item{Rect{X: -half, Y: -tall, W: 2 * half, H: 2 * tall, Pen: pen, Fill: Filled(Paper)}}}
	for i := range parts {
		x := (Px(i%inRow) - Px(inRow-1)/2) * pitch
		y := (Px(i/inRow) - Px(banks-1)/2) * pitch
		s.items = append(s.items, Circle{X: x, Y: y, R: 6, Pen: thin(pen)})
	}
	return s
}

func boxed(mark string, pen Pen) symbol {
	half := Px(24)
	s := symbol{half, half, half, half, nil}
	if mark != "" {
		half = max(half, Text{S: mark, Size: 12}.Extent().Right/2+8)
		s.left, s.right = half, half
	}
	s.items = []Item{Rect{X: -half, Y: -24, W: 2 * half, H: 48, Pen: pen}}
	if mark != "" {
		s.items = append(s.items, Text{X: 0, Y: 4.5, S: mark, Size: 12, Anchor: Middle, Role: pen.Role})
	}
	return s
}

// earth is the sign of a ground; toward is 0 when the wire comes from above, 1
// when it comes from the left.
func earth(x, y Px, toward int, pen Pen) []Item {
	pen.Dash = Solid
	var out []Item
	for i := range 3 {
		off, half := Px(i)*3.5, 8-Px(i)*3
		if toward == 0 {
			out = append(out, Line{x - half, y + off, x + half, y + off, pen})
		} else {
			out = append(out, Line{x + off, y - half, x + off, y + half, pen})
		}
	}
	return out
}
