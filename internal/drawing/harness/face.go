package harness

import (
	"slices"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// face draws a thing's sign at its place.
func (k *inker) face(r Row, t Thing, s standing, stops []int) []drawing.Item {
	pen := drawing.Pen{Role: drawing.Grey, Width: 1.2}
	if len(stops) > 0 || k.t.Way == nil && r.Bad {
		pen = drawing.Pen{Role: drawing.Ink, Width: 1.5}
	}
	if r.Bad {
		pen.Role = drawing.Accent
	}
	x, y := s.mid.X, s.mid.Y
	paper := drawing.Filled(drawing.Paper)
	switch r.Sign {
	case Plug:
		return k.plug(t, s, pen, stops)
	case Splice:
		return []drawing.Item{drawing.Path{Closed: true, Fill: drawing.Filled(pen.Role), Steps: drawing.Polyline(pen,
			drawing.Point{X: x - 4.5, Y: y}, drawing.Point{X: x, Y: y - 4.5}, drawing.Point{X: x + 4.5, Y: y}, drawing.Point{X: x, Y: y + 4.5}).Steps}}
	case Ground:
		var out []drawing.Item
		for i := range 3 {
			off, half := Px(i)*3.2-4, 6-Px(i)*2.2
			out = append(out, drawing.Line{X1: x + off, Y1: y - half, X2: x + off, Y2: y + half, Pen: pen})
		}
		return append(out, drawing.Line{X1: x - s.w/2, Y1: y, X2: x - 4, Y2: y, Pen: pen})
	case Fuse:
		return []drawing.Item{drawing.Rect{X: x - s.w/2, Y: y - 3.5, W: s.w, H: 7, Pen: pen, Fill: paper}, drawing.Line{X1: x - s.w/2, Y1: y, X2: x + s.w/2, Y2: y, Pen: pen}}
	case Relay:
		return []drawing.Item{
			drawing.Rect{X: x - 8, Y: y - 6, W: 16, H: 12, Pen: pen, Fill: paper},
			drawing.Line{X1: x - 8, Y1: y, X2: x - 3, Y2: y, Pen: pen},
			drawing.Line{X1: x - 3, Y1: y, X2: x + 3, Y2: y - 4, Pen: pen},
			drawing.Line{X1: x + 3, Y1: y, X2: x + 8, Y2: y, Pen: pen},
		}
	case Ring:
		return []drawing.Item{drawing.Circle{X: x, Y: y, R: 4, Pen: pen, Fill: paper}}
	}
	return []drawing.Item{drawing.Path{Closed: true, Pen: pen, Fill: paper, Steps: drawing.Polyline(pen,
		drawing.Point{X: x - 5, Y: y - 4}, drawing.Point{X: x + 5, Y: y}, drawing.Point{X: x - 5, Y: y + 4}).Steps}}
}

// plug draws a connector from the wire side: its ways in lines, the lock on
// top, picked ways filled.
func (k *inker) plug(t Thing, s standing, pen drawing.Pen, stops []int) []drawing.Item {
	n := max(1, t.Ways)
	cols, lines, cw, ch := n, 1, Px(cellW), Px(cellH)
	if n > 8 {
		cols, lines = t.grid()
		cw, ch = smallCell, smallCell
	}
	w, h := Px(cols)*cw, Px(lines)*ch
	x0, y0 := s.mid.X-w/2, s.mid.Y-h/2
	items := []drawing.Item{
		drawing.Rect{X: s.mid.X - 3, Y: y0 - 2.5, W: 6, H: 2.5, Fill: drawing.Filled(pen.Role)},
		drawing.Rect{X: x0, Y: y0, W: w, H: h, Pen: pen, Fill: drawing.Filled(drawing.Paper)},
	}
	light := drawing.Pen{Role: pen.Role, Width: 0.7}
	for i := 1; i < cols; i++ {
		items = append(items, drawing.Line{X1: x0 + Px(i)*cw, Y1: y0, X2: x0 + Px(i)*cw, Y2: y0 + h, Pen: light})
	}
	for i := 1; i < lines; i++ {
		items = append(items, drawing.Line{X1: x0, Y1: y0 + Px(i)*ch, X2: x0 + w, Y2: y0 + Px(i)*ch, Pen: light})
	}
	for _, i := range stops {
		way := k.t.Way.Stops[i].Way
		if way < 1 || way > n {
			continue
		}
		c, row := (way-1)%cols, (way-1)/cols
		items = append(items, drawing.Rect{X: x0 + Px(c)*cw + 0.8, Y: y0 + Px(row)*ch + 0.8, W: cw - 1.6, H: ch - 1.6, Fill: drawing.Filled(drawing.Ink)})
	}
	return items
}

// numberStops gathers the stops at each thing and in each row, and the room of
// their balloons.
func (k *inker) numberStops() {
	k.on, k.inRow = map[Spot][]int{}, map[Spot][]int{}
	if k.t.Way == nil {
		return
	}
	for i, s := range k.t.Way.Stops {
		if _, ok := k.where[s.Spot]; !ok {
			continue
		}
		k.on[s.Spot] = append(k.on[s.Spot], i)
		row := Spot{s.Spot.Place, s.Spot.Row, 0}
		if k.inRow[row] == nil {
			k.rows = append(k.rows, row)
		}
		k.inRow[row] = append(k.inRow[row], i)
	}
	for _, row := range k.rows {
		k.holes = append(k.holes, k.balloonRoom(row)...)
	}
}

// balloonRoom is where the balloons of a row stand: on its stub, two beside each
// other or one oblong for more.
func (k *inker) balloonRoom(row Spot) []drawing.Extent {
	s := k.where[row]
	n := len(k.inRow[row])
	x, y := s.rail.X+3, s.line
	if s.lead {
		x -= stub
	}
	if n > 2 {
		return []drawing.Extent{{Left: x, Top: y - bulletR, Right: x + stub - 5, Bottom: y + bulletR}}
	}
	var out []drawing.Extent
	for i := range n {
		left := x + Px(i)*2*bulletR
		out = append(out, drawing.Extent{Left: left, Top: y - bulletR, Right: left + 2*bulletR, Bottom: y + bulletR})
	}
	return out
}

// balloons draws the numbers of the stops.
func (k *inker) balloons() {
	for _, row := range k.rows {
		stops, room := k.inRow[row], k.balloonRoom(row)
		if len(room) < len(stops) {
			k.oblong(room[0], stops)
			continue
		}
		for i, n := range stops {
			k.balloon(room[i], n)
		}
	}
}

func (k *inker) balloon(e drawing.Extent, stop int) {
	x, y := (e.Left+e.Right)/2, (e.Top+e.Bottom)/2
	s := k.t.Way.Stops[stop]
	g := drawing.Group{ID: k.t.id("stop", stop+1), Title: "station " + itoa(stop+1), To: s.To}
	if k.t.Way.At == stop+1 {
		g.Items = append(g.Items, drawing.Circle{X: x, Y: y, R: bulletR + 2, Pen: drawing.Pen{Role: drawing.Ink, Width: 1.5}, Fill: drawing.Filled(drawing.Paper)})
	}
	g.Items = append(g.Items, drawing.Circle{X: x, Y: y, R: bulletR, Fill: drawing.Filled(drawing.Ink)},
		drawing.Text{X: x, Y: y + 4.2, S: itoa(stop + 1), Size: 11.5, Anchor: drawing.Middle, Bold: true, Role: drawing.Paper})
	k.d.Add(g)
}

// oblong stands for more than two stops at one thing.
func (k *inker) oblong(e drawing.Extent, stops []int) {
	s := ""
	for i, n := range stops {
		if i > 0 {
			s += " "
		}
		s += itoa(n + 1)
	}
	if typeface.WidthPx(s, 11.5, false) > e.Right-e.Left-2 {
		s = itoa(stops[0]+1) + "…" + itoa(stops[len(stops)-1]+1)
	}
	k.d.Add(drawing.Group{ID: k.t.id("stop", stops[0]+1), Title: "station " + itoa(stops[0]+1), To: k.t.Way.Stops[stops[0]].To, Items: []drawing.Item{
		drawing.Rect{X: e.Left, Y: e.Top, W: e.Right - e.Left, H: e.Bottom - e.Top, Fill: drawing.Filled(drawing.Ink)},
		drawing.Text{X: (e.Left + e.Right) / 2, Y: (e.Top+e.Bottom)/2 + 4.2, S: s, Size: 11.5, Anchor: drawing.Middle, Role: drawing.Paper},
	}})
}

// way draws the legs of the picked way, out and back beside each other.
func (k *inker) way() {
	w := k.t.Way
	if w == nil {
		return
	}
	both := slices.ContainsFunc(w.Stops, func(s Stop) bool { return s.Then.Return })
	g := drawing.Group{ID: k.t.id("way")}
	for i := 0; i+1 < len(w.Stops); i++ {
		leg := w.Stops[i].Then
		if leg.None {
			continue
		}
		pen := drawing.Pen{Role: drawing.Ink, Width: 2.6}
		off := Px(0)
		if both {
			off = -1.8
		}
		if leg.Return {
			pen.Dash, pen.Width, off = drawing.Dashed, 2.2, 1.8
		}
		if leg.Bad {
			pen.Role, pen.Width = drawing.Accent, pen.Width+0.4
		}
		spots := append(append([]Spot{w.Stops[i].Spot}, leg.Over...), w.Stops[i+1].Spot)
		for j := 0; j+1 < len(spots); j += 2 {
			if spots[j] == spots[j+1] {
				continue
			}
			pts := k.route(spots[j], spots[j+1], k.where)
			for n := range pts {
				pts[n].X, pts[n].Y = pts[n].X+off, pts[n].Y+off
			}
			for _, piece := range k.cut(pts) {
				g.Items = append(g.Items, drawing.Polyline(pen, piece...))
			}
		}
	}
	k.d.Add(g)
}

// cut parts an upright-and-level chain of points where it meets a balloon.
func (k *inker) cut(pts []drawing.Point) [][]drawing.Point {
	if len(pts) < 2 {
		return nil
	}
	out := [][]drawing.Point{{pts[0]}}
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		for _, piece := range k.without(a, b) {
			last := out[len(out)-1]
			if last[len(last)-1] != piece[0] {
				out = append(out, []drawing.Point{piece[0]})
			}
			out[len(out)-1] = append(out[len(out)-1], piece[1])
		}
	}
	return slices.DeleteFunc(out, func(p []drawing.Point) bool { return len(p) < 2 })
}

// without is a stroke less what lies under balloons.
func (k *inker) without(a, b drawing.Point) [][2]drawing.Point {
	pieces := [][2]drawing.Point{{a, b}}
	for _, h := range k.holes {
		var next [][2]drawing.Point
		for _, p := range pieces {
			next = append(next, outside(p, h)...)
		}
		pieces = next
	}
	return pieces
}

// outside parts a level or upright stroke at a rectangle.
func outside(p [2]drawing.Point, h drawing.Extent) [][2]drawing.Point {
	level := p[0].Y == p[1].Y
	at, lo, hi := p[0].X, p[0].Y, p[1].Y
	edge, far, near1, near2 := h.Top, h.Bottom, h.Left, h.Right
	if level {
		at, lo, hi = p[0].Y, p[0].X, p[1].X
		edge, far, near1, near2 = h.Left, h.Right, h.Top, h.Bottom
	}
	if at <= near1 || at >= near2 || max(lo, hi) <= edge || min(lo, hi) >= far {
		return [][2]drawing.Point{p}
	}
	point := func(v Px) drawing.Point {
		if level {
			return drawing.Point{X: v, Y: at}
		}
		return drawing.Point{X: at, Y: v}
	}
	if lo > hi {
		edge, far = far, edge
	}
	var out [][2]drawing.Point
	if (edge-lo)*(hi-lo) > 0 {
		out = append(out, [2]drawing.Point{p[0], point(edge)})
	}
	if (hi-far)*(hi-lo) > 0 {
		out = append(out, [2]drawing.Point{point(far), p[1]})
	}
	return out
}
