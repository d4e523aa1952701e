package drawing

import (
	"fmt"

	"fettle/internal/typeface"
)

// EnginePlan is an engine seen from above, its timing drive and its flywheel at
// the two ends, a bore a cylinder with its number and what serves it. Banks
// stand apart; each lists its cylinders from the end that numbering begins at.
type EnginePlan struct {
	Name    string
	Title   string
	Width   Px       // 1000 or less on a sheet, 328 on a phone
	Upright bool     // cylinders beneath one another, for a phone
	Banks   [][]Bore // one, or two
	AtWheel bool     // numbering begins at the flywheel
	Ends    [2]string
	Foot    string
}

// Bore is one cylinder.
type Bore struct {
	Number string
	Notes  []Label // "fires 3rd", "injector A3"
}

const (
	boreMost   = 30
	boreNumber = 16
	planEnd    = 15 // thickness of what stands at an end
	planPitch  = 128
	planRow    = 74 // between bores that stand beneath one another
)

// Draw makes the picture.
func (e EnginePlan) Draw() *Drawing {
	d := &Drawing{Name: e.Name, Title: e.Title, W: max(e.Width, 200)}
	inRow := 0
	for _, b := range e.Banks {
		inRow = max(inRow, len(b))
	}
	if inRow == 0 {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: "no cylinder is described", Size: lettering, Role: Soft})
		return d
	}
	if e.Upright {
		e.upright(d, inRow)
	} else {
		e.level(d, inRow)
	}
	if e.Foot != "" {
		lines := typeface.Wrap(e.Foot, d.W, noteSize, false)
		d.Add(items(stack(0, d.H+14, lines, Text{Size: noteSize, Role: Soft}))...)
		d.H += 18 + Px(len(lines)-1)*leading + 4
	}
	return d
}

// order is the place of a bank's bore along the engine, counted from the timing
// drive.
func (e EnginePlan) order(bank []Bore, i int) int {
	if e.AtWheel {
		return len(bank) - 1 - i
	}
	return i
}

// notes sets what serves a cylinder into lines.
func notes(b Bore, width Px) (out []Text) {
	for _, n := range b.Notes {
		role := Ink
		if n.Bad {
			role = Accent
		}
		for _, s := range typeface.Wrap(n.Text, width, faceSmall, n.Bad) {
			out = append(out, Text{S: s, Size: faceSmall, Bold: n.Bad, Role: role, Ref: n.Ref})
		}
	}
	return out
}

// level draws the engine lying along the sheet, its timing drive at the left.
func (e EnginePlan) level(d *Drawing, inRow int) {
	pitch := min(planPitch, (d.W-2*(planEnd+22))/Px(inRow))
	r := min(boreMost, pitch*0.36)
	long := Px(inRow)*pitch + 12
	x0 := Px(planEnd + 10)
	d.W = min(d.W, x0+long+planEnd+14)
	lines := 0
	for _, bank := range e.Banks {
		for _, b := range bank {
			lines = max(lines, len(notes(b, pitch-6)))
		}
	}
	room := Px(lines)*leading + 6
	y := Px(2)
	if len(e.Banks) > 1 {
		y += room
	}
	top := y
	for k, bank := range e.Banks {
		cy := y + 12 + r
		for i, b := range bank {
			cx := x0 + 6 + (Px(e.order(bank, i))+0.5)*pitch
			g := Group{ID: fmt.Sprintf("%s-bore-%s", e.Name, ident(b.Number)), Items: bore(cx, cy, r, b)}
			text := notes(b, pitch-6)
			from := y + 24 + 2*r + 15
			if k == 0 && len(e.Banks) > 1 {
				from = y - 6 - Px(len(text)-1)*leading
			}
			for j, t := range text {
				t.X, t.Y, t.Anchor = cx, from+Px(j)*leading, Middle
				g.Items = append(g.Items, t)
			}
			d.Add(g)
		}
		y += 24 + 2*r
	}
	d.Add(Rect{X: x0, Y: top, W: long, H: y - top, Pen: Firm})
	if len(e.Banks) > 1 {
		mid := (top + y) / 2
		d.Add(Line{x0, mid, x0 + long, mid, Pen{Role: Grey, Width: 1, Dash: DashDot}})
	}
	high := y - top
	d.Add(Rect{X: x0 - planEnd, Y: top + high*0.2, W: planEnd, H: high * 0.6, Pen: Drawn}, Line{x0 - planEnd/2, top + high*0.2, x0 - planEnd/2, top + high*0.8, Drawn})
	d.Add(Rect{X: x0 + long, Y: top + 4, W: planEnd - 4, H: high - 8, Pen: Firm})
	d.H = y + room + 22
	d.Add(
		Text{X: 0, Y: d.H - 6, S: e.Ends[0], Size: noteSize, Role: Soft},
		Text{X: d.W, Y: d.H - 6, S: e.Ends[1], Size: noteSize, Anchor: End, Role: Soft})
	if typeface.WidthPx(e.Ends[0]+e.Ends[1], noteSize, false)+12 > d.W {
		d.W = typeface.WidthPx(e.Ends[0]+e.Ends[1], noteSize, false) + 12
	}
}

// upright draws the engine standing on the sheet, its timing drive at the top.
func (e EnginePlan) upright(d *Drawing, inRow int) {
	const r = 20
	half := d.W / Px(len(e.Banks))
	top := Px(planEnd + 22)
	d.Add(Text{X: d.W / 2, Y: 11, S: e.Ends[0], Size: noteSize, Anchor: Middle, Role: Soft}, Rect{X: d.W/2 - 40, Y: 18, W: 80, H: planEnd, Pen: Drawn})
	row := Px(planRow)
	for _, bank := range e.Banks {
		for _, b := range bank {
			row = max(row, Px(len(notes(b, half-2*r-32)))*leading+8)
		}
	}
	for k, bank := range e.Banks {
		for i, b := range bank {
			cy := top + 6 + (Px(e.order(bank, i))+0.5)*row
			// Bores stand at the middle of the engine, words at its sides.
			cx, at, anchor := half-r-10, half-2*r-23, End
			if k > 0 || len(e.Banks) == 1 {
				cx, at, anchor = Px(k)*half+r+10, Px(k)*half+2*r+26, Start
			}
			g := Group{ID: fmt.Sprintf("%s-bore-%s", e.Name, ident(b.Number)), Items: bore(cx, cy, r, b)}
			text := notes(b, half-2*r-32)
			for j, t := range text {
				t.X, t.Y, t.Anchor = at, cy+4+Px(j)*leading-Px(len(text)-1)*leading/2, anchor
				g.Items = append(g.Items, t)
			}
			d.Add(g)
		}
	}
	bottom := top + 12 + Px(inRow)*row
	left, right := Px(0), Px(2*r+20)
	if len(e.Banks) > 1 {
		left, right = half-2*r-16, half+2*r+16
		d.Add(Line{half, top, half, bottom, Pen{Role: Grey, Width: 1, Dash: DashDot}})
	}
	d.Add(Rect{X: left, Y: top, W: right - left, H: bottom - top, Pen: Firm})
	mid := (left + right) / 2
	d.Items[1] = Rect{X: mid - 18, Y: 18, W: 36, H: planEnd + 4, Pen: Drawn}
	head := Text{X: mid, Y: 11, S: e.Ends[0], Size: noteSize, Anchor: Middle, Role: Soft}
	if head.Extent().Left < 0 {
		head.X, head.Anchor = 0, Start
	}
	d.Items[0] = head
	d.Add(Rect{X: left + 2, Y: bottom, W: right - left - 4, H: 10, Pen: Firm})
	head.Y, head.S = bottom+25, e.Ends[1]
	d.Add(head)
	d.H = bottom + 32
}

func bore(x, y, r Px, b Bore) []Item {
	size := min(boreNumber, r*0.9)
	return []Item{
		Circle{X: x, Y: y, R: r, Pen: Firm},
		Text{X: x, Y: y + size*0.36, S: b.Number, Size: max(size, faceSmall), Anchor: Middle, Bold: true, Role: Ink},
	}
}
