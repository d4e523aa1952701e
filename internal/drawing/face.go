package drawing

import (
	"fmt"

	"fettle/internal/typeface"
)

// Face is the face of a plug with its ways in rows, seen from the side where
// the wires enter or, left and right exchanged, from the side that mates. Ways
// are numbered along the rows, the first at the notched corner.
type Face struct {
	Name   string
	Title  string
	Width  Px // 1000 or less on a sheet, 328 on a phone
	Rows   int
	Mating bool
	Brief  bool // numbers alone
	Ways   []FaceWay
	Foot   string // a line beneath
}

// FaceUse says what a way is there for.
type FaceUse uint8

// The uses.
const (
	Spare   FaceUse = iota // it could serve something
	Used                   // a wire is in it
	Blanked                // nothing is behind it: it is plugged
)

// FaceWay is one way.
type FaceWay struct {
	Mark   string // its number, as it stands on the plug
	Serves string // what the wire is for
	Colour string // of the wire, in letters
	Title  string // what a screen reader says
	To     string // where it leads
	Use    FaceUse
	Bad    bool
	Picked bool
}

const (
	faceEdge   = 9  // from the housing's wall to the ways
	faceKey    = 8  // how far the key stands out
	faceMost   = 92 // widest way
	faceBrief  = 34 // widest way that shows its number alone
	faceSmall  = 11.5
	faceLine   = 13
	faceWords  = 3 // lines of lettering in a way
	cavityR    = 4.5
	faceRead   = 58 // from this width on a way has room for words
	faceBriefH = 33
)

// faceLayout is where the ways stand.
type faceLayout struct {
	cols  int
	w, h  Px // of a way
	wide  Px // of the housing
	words bool
}

// Draw makes the picture.
func (f Face) Draw() *Drawing {
	d := &Drawing{Name: f.Name, Title: f.Title, W: max(f.Width, 200)}
	if len(f.Ways) == 0 {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: "no way of this plug is described", Size: lettering, Role: Soft})
		return d
	}
	l := f.layout(d.W)
	rows := (len(f.Ways) + l.cols - 1) / l.cols
	high := Px(rows)*l.h + 2*faceEdge
	d.W = max(d.W, l.wide+2)
	d.Add(f.housing(l, high)...)
	picked := false
	for _, w := range f.Ways {
		picked = picked || w.Picked
	}
	for i, w := range f.Ways {
		col := i % l.cols
		if f.Mating {
			col = l.cols - 1 - col
		}
		x, y := 1+faceEdge+Px(col)*l.w, faceKey+faceEdge+Px(i/l.cols)*l.h
		d.Add(f.way(i, w, l, x, y, picked))
	}
	d.H = faceKey + high + 2
	if f.Foot != "" {
		lines := typeface.Wrap(f.Foot, d.W, noteSize, false)
		d.Add(items(stack(0, d.H+16, lines, Text{Size: noteSize, Role: Soft}))...)
		d.H += 20 + Px(len(lines)-1)*leading + 4
	}
	return d
}

func (f Face) layout(room Px) faceLayout {
	rows := max(1, min(f.Rows, len(f.Ways)))
	l := faceLayout{cols: (len(f.Ways) + rows - 1) / rows}
	l.w = (room - 2 - 2*faceEdge) / Px(l.cols)
	most, least := Px(faceMost), Px(14)
	if f.Brief {
		most = faceBrief
	}
	for _, w := range f.Ways {
		least = max(least, typeface.WidthPx(w.Mark, faceSmall, true)+4)
	}
	l.w = max(least, min(most, l.w))
	l.words = !f.Brief && l.w >= faceRead
	l.h = faceBriefH
	if l.words {
		l.h = 19 + faceWords*faceLine
	}
	l.wide = Px(l.cols)*l.w + 2*faceEdge
	return l
}

// housing is the plug's wall with its key and, at the corner of the first way,
// its notch.
func (f Face) housing(l faceLayout, high Px) []Item {
	const notch = 7
	side := func(x Px) Px { // x from the left as the wires see it
		if f.Mating {
			return 1 + l.wide - x
		}
		return 1 + x
	}
	key, half := l.wide/3, min(16, l.wide/8)
	top := Px(faceKey)
	pts := []Point{
		{side(notch), top},
		{side(key - half), top},
		{side(key - half), 1},
		{side(key + half), 1},
		{side(key + half), top},
		{side(l.wide), top},
		{side(l.wide), top + high},
		{side(0), top + high},
		{side(0), top + notch},
	}
	p := Polyline(Firm, pts...)
	p.Closed = true
	return []Item{p}
}

func (f Face) way(i int, w FaceWay, l faceLayout, x, y Px, picking bool) Group {
	g := Group{ID: fmt.Sprintf("%s-way-%d", f.Name, i+1), To: w.To}
	if w.To != "" {
		g.Title = w.Title
	}
	frame, sign, words := Hair, Ink, Ink
	switch {
	case w.Bad:
		sign, words = Accent, Accent
	case picking && !w.Picked:
		sign, words = Grey, Soft
	case w.Use != Used:
		sign, words = Grey, Soft
	}
	if w.Picked {
		frame = Heavy
	}
	g.Items = append(g.Items, Rect{X: x + 1.5, Y: y + 1.5, W: l.w - 3, H: l.h - 3, Pen: frame})
	number := Text{S: w.Mark, Size: faceSmall, Bold: w.Use == Used, Role: words}
	if !l.words {
		g.Items = append(g.Items, f.cavity(w, sign, x+l.w/2, y+10)...)
		number.X, number.Y, number.Anchor = x+l.w/2, y+27, Middle
		g.Items = append(g.Items, number)
		return g
	}
	g.Items = append(g.Items, f.cavity(w, sign, x+9, y+11)...)
	number.X, number.Y = x+16, y+15
	g.Items = append(g.Items, number)
	if at := number.Extent().Right; w.Colour != "" && at+1+typeface.WidthPx(w.Colour, faceSmall, false) < x+l.w-3 {
		g.Items = append(g.Items, Text{X: x + l.w - 4, Y: y + 15, S: w.Colour, Size: faceSmall, Anchor: End, Role: Soft})
	}
	for k, line := range shortened(w.Serves, l.w-8, faceWords) {
		g.Items = append(g.Items, Text{X: x + 4, Y: y + 15 + Px(k+1)*faceLine, S: line, Size: faceSmall, Role: words})
	}
	return g
}

// cavity is the hole that a wire enters, or the slot that a blade enters.
func (f Face) cavity(w FaceWay, role Role, x, y Px) []Item {
	pen, fill := Pen{Role: role, Width: 1.3}, Fill{}
	if w.Use == Used {
		fill = Filled(role)
	}
	if w.Use == Blanked {
		const r = 3.5
		return []Item{Line{x - r, y - r, x + r, y + r, pen}, Line{x - r, y + r, x + r, y - r, pen}}
	}
	if f.Mating {
		return []Item{Rect{X: x - 2, Y: y - 5, W: 4, H: 10, Pen: pen, Fill: fill}}
	}
	return []Item{Circle{X: x, Y: y, R: cavityR, Pen: pen, Fill: fill}}
}

// shortened sets a text into at most some lines; what is over is left to a list.
func shortened(text string, width Px, most int) []string {
	lines := typeface.Wrap(text, width, faceSmall, false)
	if len(lines) <= most {
		return lines
	}
	lines = lines[:most]
	last := []rune(lines[most-1])
	for len(last) > 0 && typeface.WidthPx(string(last)+"…", faceSmall, false) > width {
		last = last[:len(last)-1]
	}
	lines[most-1] = string(last) + "…"
	return lines
}
