package paper

import (
	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Shaded is a table of numbers on one scale of shades with fixed ends.
type Shaded struct {
	Name             string
	Corner           string // names the axes: "rpm \ kPa"
	ColHeads         []string
	RowHeads         []string
	Cells            [][]ShadedCell // by row
	LoLabel, HiLabel string         // the ends of the scale, with unit
	Note             string
}

// ShadedCell is one number; LevelFrac is its place between the ends.
type ShadedCell struct {
	Text      string
	LevelFrac float64
}

const (
	shadedRow   = 20
	shadedMost  = 54
	shadedLeast = 9 // smallest lettering
)

// shadedPart is a stretch of columns that fits the sheet.
type shadedPart struct{ from, upTo int }

type shadedLayout struct {
	head, cell, size Px
	parts            []shadedPart
}

func (t *Shaded) layout() shadedLayout {
	l := shadedLayout{size: 11.5}
	em, room := Px(0), Px(inRight-inLeft)
	for _, h := range t.RowHeads {
		l.head = max(l.head, typeface.WidthPx(h, l.size, false))
	}
	l.head = max(l.head, typeface.WidthPx(t.Corner, l.size, false)) + 8
	for _, h := range t.ColHeads {
		em = max(em, typeface.WidthPx(h, 1, false))
	}
	for _, r := range t.Cells {
		for _, c := range r {
			em = max(em, typeface.WidthPx(c.Text, 1, false))
		}
	}
	n := max(1, len(t.ColHeads))
	perRow := n
	if least := em*shadedLeast + 4; least*Px(n) > room-l.head {
		perRow = max(1, int((room-l.head)/least))
	}
	blocks := (n + perRow - 1) / perRow
	perRow = (n + blocks - 1) / blocks
	l.cell = min(shadedMost, (room-l.head)/Px(perRow))
	if em > 0 {
		l.size = max(shadedLeast, min(l.size, (l.cell-4)/em))
	}
	for i := 0; i < n; i += perRow {
		l.parts = append(l.parts, shadedPart{i, min(n, i+perRow)})
	}
	return l
}

func (t *Shaded) least(s *setter) Px {
	return min(Px(len(t.RowHeads)+1)*shadedRow+46, s.full())
}

func (t *Shaded) place(s *setter) {
	l := t.layout()
	s.gap(8)
	for i, p := range l.parts {
		need := t.least(s)
		if i > 0 {
			need = min(Px(len(t.RowHeads)+1)*shadedRow, s.full())
		}
		s.room(need)
		t.part(s, l, p)
		s.gap(12)
	}
	s.room(34)
	t.legend(s, l)
	if t.Note != "" {
		s.gap(6)
		prose{runs: []Run{{Text: t.Note}}, size: 12, leading: 16, after: 8, role: drawing.Soft}.place(s)
	}
	s.gap(16)
}

func (t *Shaded) part(s *setter, l shadedLayout, p shadedPart) {
	t.colHeads(s, l, p)
	for r, head := range t.RowHeads {
		if s.left() < shadedRow {
			s.turn()
			s.fresh = false
			t.colHeads(s, l, p)
		}
		s.add(drawing.Text{X: inLeft + l.head - 8, Y: s.y + 14, S: head, Size: 11.5, Anchor: drawing.End, Role: drawing.Soft})
		for c := p.from; c < p.upTo; c++ {
			if r >= len(t.Cells) || c >= len(t.Cells[r]) {
				continue
			}
			cell := t.Cells[r][c]
			fill := drawing.Fill{Shade: drawing.Cividis, LevelFrac: cell.LevelFrac}
			x := inLeft + l.head + Px(c-p.from)*l.cell
			s.add(drawing.Rect{X: x, Y: s.y, W: l.cell, H: shadedRow, Fill: fill},
				drawing.Text{X: x + l.cell/2, Y: s.y + 10 + l.size*0.36, S: cell.Text, Size: l.size, Anchor: drawing.Middle, Role: fill.On()})
		}
		s.y += shadedRow
	}
}

func (t *Shaded) colHeads(s *setter, l shadedLayout, p shadedPart) {
	s.add(drawing.Text{X: inLeft + l.head - 8, Y: s.y + 13, S: t.Corner, Size: 11.5, Anchor: drawing.End, Role: drawing.Soft})
	for c := p.from; c < p.upTo && c < len(t.ColHeads); c++ {
		s.add(drawing.Text{X: inLeft + l.head + (Px(c-p.from)+0.5)*l.cell, Y: s.y + 13, S: t.ColHeads[c], Size: l.size, Anchor: drawing.Middle, Role: drawing.Soft})
	}
	s.y += shadedRow
}

// legend is the scale with its ends.
func (t *Shaded) legend(s *setter, l shadedLayout) {
	const steps, w = 48, 4
	x := inLeft + l.head
	for i := range steps {
		f := (float64(i) + 0.5) / steps
		// Half a pixel of overlap closes the seams.
		s.add(drawing.Rect{X: x + Px(i)*w, Y: s.y, W: w + 0.5, H: 9, Fill: drawing.Fill{Shade: drawing.Cividis, LevelFrac: f}})
	}
	s.add(drawing.Text{X: x, Y: s.y + 23, S: t.LoLabel, Size: 11.5, Role: drawing.Soft},
		drawing.Text{X: x + steps*w, Y: s.y + 23, S: t.HiLabel, Size: 11.5, Anchor: drawing.End, Role: drawing.Soft})
	s.y += 28
}
