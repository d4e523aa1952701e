package paper

import (
	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Format is the size of a sheet that a drawing has to itself.
type Format uint8

// The formats of drawings, lying (ISO 216).
const (
	A4Lying Format = iota
	A3Lying
)

func (f Format) size() (w, h Px) {
	if f == A3Lying {
		return 420 * typeface.PxPerMM, 297 * typeface.PxPerMM
	}
	return pageH, pageW
}

// String is the format's name.
func (f Format) String() string {
	if f == A3Lying {
		return "A3"
	}
	return "A4"
}

// blockMost is the tallest title block that a lying sheet leaves room for: three
// lines in each cell.
const blockMost = 22 + 3*15 + 3

// Room is what a drawing may take on a sheet of its own, at its own size.
func (f Format) Room() (w, h Px) {
	w, h = f.size()
	return w - frameL - edge - 40, h - edge - blockMost - 16 - inTop
}

// edge is from a sheet's rim to its frame, apart from the filing margin.
const edge = 10 * typeface.PxPerMM

// Wide gives a drawing a lying sheet of its own, at its own size, made smaller
// only when it exceeds the format's room. The contents list it as listed, which
// is empty for the further sheets of one drawing.
func (d *Doc) Wide(title, listed string, f Format, g *drawing.Drawing) {
	if g != nil {
		d.blocks = append(d.blocks, wide{title, listed, f, g})
	}
}

type wide struct {
	title  string
	listed string
	format Format
	d      *drawing.Drawing
}

func (wide) least(*setter) Px { return 0 }

func (b wide) place(s *setter) {
	s.open(b.title, false)
	p := s.page().drawing
	p.W, p.H = b.format.size()
	roomW, roomH := b.format.Room()
	scale := Px(1)
	if b.d.W > 0 && b.d.H > 0 {
		scale = min(1, roomW/b.d.W, roomH/b.d.H)
	}
	if b.listed != "" {
		s.mark(b.listed, 0, inTop)
	}
	s.add(drawing.Group{ID: b.d.Name, Title: b.d.Title, Items: drawing.Move(b.d.Items, drawing.Frame{X: inLeft, Y: inTop, ScaleRatio: float64(scale)})})
	s.y, s.fresh = s.bot, false // whatever comes next turns the page
}
