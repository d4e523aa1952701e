package harness

import (
	"slices"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Bond says how the wires of a row run.
type Bond uint8

// The bonds.
const (
	Loose    Bond = iota
	Twisted       // some of its wires are twisted together
	Screened      // some of its wires run in a screen
)

const (
	bondW   = 15 // of the sign after a row's label
	bondGap = 6
)

// bond draws the sign of a bond from a point on: two wires that cross, or two in
// a dashed cover.
func bond(b Bond, x, y Px, pen drawing.Pen) []drawing.Item {
	pen.Width = 1.2
	if b == Screened {
		cover := pen
		cover.Dash = drawing.Dashed
		return []drawing.Item{
			drawing.Rect{X: x + 1.5, Y: y - 4.5, W: bondW - 3, H: 9, Pen: cover},
			drawing.Line{X1: x, Y1: y - 1.5, X2: x + bondW, Y2: y - 1.5, Pen: pen},
			drawing.Line{X1: x, Y1: y + 1.5, X2: x + bondW, Y2: y + 1.5, Pen: pen},
		}
	}
	var out []drawing.Item
	for _, up := range []Px{1, -1} {
		var pts []drawing.Point
		for i := range 4 {
			pts = append(pts, drawing.Point{X: x + Px(i)*bondW/3, Y: y + up*3})
			up = -up
		}
		out = append(out, drawing.Polyline(pen, pts...))
	}
	return out
}

// entry is a sign with what it means.
type entry struct {
	says string
	w    Px
	draw func(k *inker, x, y Px) []drawing.Item
}

// meanings are all the signs, in the order of the key.
var meanings = []struct {
	sign Sign
	says string
}{
	{Plug, "connector from the wires' side"},
	{Splice, "splice"},
	{Ground, "ground bolt"},
	{Fuse, "fuse"},
	{Relay, "relay"},
	{Ring, "eyelet or terminal"},
	{Onward, "goes on elsewhere"},
}

// key lists the signs that stand on a sheet.
func (l *laid) key() (out []entry) {
	used, bonds, through, beside := map[Sign]bool{}, map[Bond]bool{}, false, ""
	for _, s := range append([]*laid{l}, l.with...) {
		for p := range s.t.Places {
			if !s.reached[p] {
				continue
			}
			through = through || s.t.Places[p].Bulkhead && s.in[p].bundle >= 0
			if s.in[p].bundle >= 0 && s.t.Bundles[s.in[p].bundle].BesideMM > 0 {
				beside = s.t.Beside
			}
			for _, r := range s.t.Places[p].Rows {
				used[r.Sign], bonds[r.Bond] = true, true
			}
		}
	}
	for _, m := range meanings {
		if !used[m.sign] {
			continue
		}
		r, t := Row{Sign: m.sign}, Thing{Ways: 2}
		w, h := r.face(t)
		out = append(out, entry{m.says, w, func(k *inker, x, y Px) []drawing.Item {
			return k.face(r, t, standing{mid: drawing.Point{X: x + w/2, Y: y}, w: w, h: h}, nil)
		}})
	}
	if through {
		out = append(out, entry{"bulkhead", 6, func(_ *inker, x, y Px) []drawing.Item {
			return []drawing.Item{drawing.Line{X1: x + 3, Y1: y - 8, X2: x + 3, Y2: y + 8, Pen: drawing.Pen{Role: drawing.Grey, Width: 1.3, Dash: drawing.DashDot}}}
		}})
	}
	if beside != "" {
		out = append(out, entry{"two bundles: the lower is " + beside, bondW, func(_ *inker, x, y Px) []drawing.Item {
			pen := func(role drawing.Role, w Px) drawing.Pen { return drawing.Pen{Role: role, Width: w} }
			line := func(y Px, p drawing.Pen) drawing.Item {
				return drawing.Line{X1: x, Y1: y, X2: x + bondW, Y2: y, Pen: p}
			}
			return []drawing.Item{
				line(y-2.5, pen(drawing.Grey, 5)), line(y-2.5, pen(drawing.Paper, 2.8)), line(y+3.5, pen(drawing.Grey, 3.4)), line(y+3.5, pen(drawing.Paper, 1.2)),
			}
		}})
	}
	for _, b := range []struct {
		bond Bond
		says string
	}{{Twisted, "wires twisted together"}, {Screened, "wires in a screen, which ends at the control unit only"}} {
		if bonds[b.bond] {
			out = append(out, entry{b.says, bondW, func(_ *inker, x, y Px) []drawing.Item { return bond(b.bond, x, y, rail) }})
		}
	}
	return out
}

const (
	keyLine = 18
	keyGap  = 18 // between entries
	keySign = 6  // from a sign to its words
)

// keyRows parts the key into lines no wider than the sheet.
func (l *laid) keyRows() (rows [][]entry) {
	room, x := l.w-2*margin, Px(0)
	for _, e := range l.key() {
		w := e.w + keySign + typeface.WidthPx(e.says, lettering, false)
		if len(rows) == 0 || x+w > room {
			rows, x = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		x += w + keyGap
	}
	return rows
}

// drawKey writes what the signs mean, from a height on.
func (k *inker) drawKey(y Px) {
	g := drawing.Group{ID: k.t.id("key"), Title: "what the signs mean"}
	for _, row := range k.keyRows() {
		x := Px(margin)
		for _, e := range row {
			g.Items = append(g.Items, slices.Concat(e.draw(k, x, y-4), []drawing.Item{drawing.Text{X: x + e.w + keySign, Y: y, S: e.says, Size: lettering, Role: drawing.Soft}})...)
			x += e.w + keySign + typeface.WidthPx(e.says, lettering, false) + keyGap
		}
		y += keyLine
	}
	k.d.Add(g)
}
