package harness

import (
	"slices"

	"fettle/internal/drawing"
)

// standing is where a thing stands on the drawing.
type standing struct {
	mid    drawing.Point // of its face
	w, h   Px            // of its face
	label  drawing.Point // of its row: where the label begins
	rail   drawing.Point // where its row leaves the rail
	line   Px            // y of the row's line
	lead   bool
	shared bool // several in the row: they stand on the line
}

// find works out where every thing of every row stands.
func (l *laid) find() map[Spot]standing {
	out := map[Spot]standing{}
	for p := range l.t.Places {
		if !l.reached[p] {
			continue
		}
		for _, c := range l.strips[p].cells {
			l.findRow(out, p, c.row, l.barX[p]+c.x, l.feedY[p]+c.y)
		}
	}
	_, h, rows := l.t.lead()
	y := l.lineY[l.t.Root] - h/2
	for _, i := range rows {
		_, rh := l.t.Places[l.t.Root].Rows[i].size()
		l.findLead(out, i, y+2+rh/2)
		y += rh + 4
	}
	return out
}

func (l *laid) findRow(out map[Spot]standing, p, row int, rail, y Px) {
	r := l.t.Places[p].Rows[row]
	x := rail + stub
	shared := len(r.Things) > 1
	end := x
	for _, t := range r.Things {
		w, _ := r.face(t)
		end += w + faceGap
	}
	label := drawing.Point{X: end - faceGap + labelGap, Y: y + 4.4}
	if shared {
		label.Y -= 2
	}
	if len(r.Things) == 0 {
		label.X = rail + stub + labelGap
	}
	for i, t := range r.Things {
		w, h := r.face(t)
		s := standing{mid: drawing.Point{X: x + w/2, Y: y}, w: w, h: h, label: label, rail: drawing.Point{X: rail, Y: y}, line: y, shared: shared}
		if shared {
			_, rh := r.size()
			s.line = y + rh/2 - 7
			s.mid.Y = s.line - 2 - h/2
			s.rail.Y = s.line
		}
		out[Spot{p, row, i}] = s
		x += w + faceGap
	}
}

// findLead sets a row before the root: its label at the left, its faces, its
// line to the bar.
func (l *laid) findLead(out map[Spot]standing, row int, y Px) {
	r := l.t.Places[l.t.Root].Rows[row]
	end := l.leadX - stub
	x := end
	for _, t := range r.Things {
		w, _ := r.face(t)
		x -= w + faceGap
	}
	x += faceGap
	label := drawing.Point{X: x - labelGap, Y: y + 4.4}
	for i, t := range r.Things {
		w, h := r.face(t)
		out[Spot{l.t.Root, row, i}] = standing{
			mid: drawing.Point{X: x + w/2, Y: y}, w: w, h: h, label: label,
			rail: drawing.Point{X: l.leadX, Y: y}, line: y, lead: true,
		}
		x += w + faceGap
	}
}

// toBar is the way from a thing's face to its place's bar.
func (l *laid) toBar(at Spot, s standing) []drawing.Point {
	switch {
	case s.lead:
		return []drawing.Point{{X: s.mid.X + s.w/2, Y: s.line}, s.rail}
	case s.shared:
		return []drawing.Point{{X: s.mid.X, Y: s.mid.Y + s.h/2}, {X: s.mid.X, Y: s.line}, s.rail, {X: s.rail.X, Y: l.feedY[at.Place]}, {X: l.barX[at.Place], Y: l.feedY[at.Place]}}
	}
	return []drawing.Point{{X: s.mid.X - s.w/2, Y: s.line}, s.rail, {X: s.rail.X, Y: l.feedY[at.Place]}, {X: l.barX[at.Place], Y: l.feedY[at.Place]}}
}

// up lists the places from one to the root, itself first.
func (l *laid) up(place int) []int {
	out := []int{place}
	for l.in[place].bundle >= 0 {
		place = l.in[place].parent
		out = append(out, place)
	}
	return out
}

// route is the way along bars and bundles from one thing to another.
func (l *laid) route(from, to Spot, where map[Spot]standing) []drawing.Point {
	a, okA := where[from]
	b, okB := where[to]
	if !okA || !okB {
		return nil
	}
	out := l.toBar(from, a)
	down := l.up(to.Place)
	meet := -1
	for _, p := range l.up(from.Place) {
		if meet = slices.Index(down, p); meet >= 0 {
			break
		}
		out = append(out, drawing.Point{X: l.barX[p], Y: l.lineY[p]}, drawing.Point{X: l.barX[l.in[p].parent], Y: l.lineY[p]})
	}
	for i := meet - 1; i >= 0; i-- {
		p := down[i]
		out = append(out, drawing.Point{X: l.barX[l.in[p].parent], Y: l.lineY[p]}, drawing.Point{X: l.barX[p], Y: l.lineY[p]})
	}
	back := l.toBar(to, b)
	slices.Reverse(back)
	return tidy(append(out, back...))
}

// tidy drops points that change nothing and turns that lead back on
// themselves.
func tidy(pts []drawing.Point) []drawing.Point {
	var out []drawing.Point
	for _, p := range pts {
		for n := len(out); n > 0; n = len(out) {
			if out[n-1] == p {
				out = out[:n-1]
				continue
			}
			if n > 1 && (out[n-2].X == out[n-1].X && out[n-1].X == p.X || out[n-2].Y == out[n-1].Y && out[n-1].Y == p.Y) {
				out = out[:n-1]
				continue
			}
			break
		}
		out = append(out, p)
	}
	return out
}
