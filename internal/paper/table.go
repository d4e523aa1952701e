package paper

import (
	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Table is a table of finished strings.
type Table struct {
	Cols  []Col
	Rows  [][]Cell
	Empty string // said instead when there are no rows
}

// Col is a column: its head with the unit, and how it is set.
type Col struct {
	Head  string
	Right bool // figures: flush right
}

// Cell is one entry.
type Cell struct {
	Text   string
	Bold   bool
	Accent bool
}

// Row makes plain cells.
func Row(texts ...string) []Cell {
	out := make([]Cell, len(texts))
	for i, t := range texts {
		out[i].Text = t
	}
	return out
}

const (
	colGap   = 14
	rowPad   = 4
	headSize = 12
)

// tableLayout is how a table is set: the size of its letters and its columns.
type tableLayout struct {
	size, leading Px
	left, width   []Px
	head          [][]string
	headH         Px
}

// cell of a row that may be shorter than the table is wide.
func at(row []Cell, i int) Cell {
	if i < len(row) {
		return row[i]
	}
	return Cell{}
}

// layout picks the largest size at which no word has to be parted, else the
// smallest.
func (t *Table) layout() tableLayout {
	room := Px(inRight-inLeft) - colGap*Px(len(t.Cols)-1)
	var l tableLayout
	for _, size := range []Px{12, 11.5, 11, 10.5, 10} {
		want, least, sum := t.widths(size)
		l.size, l.leading = size, size+3
		if sum <= room || size == 10 {
			if sum > room {
				for i := range least {
					least[i] *= room / sum
				}
			}
			l.width = typeface.Share(want, least, room)
			break
		}
	}
	x := Px(inLeft)
	lines := 1
	for i, c := range t.Cols {
		l.left = append(l.left, x)
		x += l.width[i] + colGap
		h := typeface.Wrap(c.Head, l.width[i], min(headSize, l.size), false)
		l.head, lines = append(l.head, h), max(lines, len(h))
	}
	l.headH = Px(lines)*l.leading + 2*rowPad
	return l
}

// widths measures what every column wants, at most 260 px of text, and the least
// it can do with.
func (t *Table) widths(size Px) (want, least []Px, sumLeast Px) {
	for i, c := range t.Cols {
		w := min(typeface.WidthPx(c.Head, size, false), 110)
		n := typeface.LongestWordPx(c.Head, size, false)
		for _, r := range t.Rows {
			cell := at(r, i)
			w = max(w, min(typeface.WidthPx(cell.Text, size, cell.Bold || cell.Accent), 260))
			n = max(n, min(typeface.LongestWordPx(cell.Text, size, cell.Bold || cell.Accent), 200))
		}
		want, least, sumLeast = append(want, max(w, n)), append(least, n), sumLeast+n
	}
	return want, least, sumLeast
}

func (l tableLayout) row(cells []Cell) (lines [][]string, most int) {
	most = 1
	for i := range l.left {
		c := at(cells, i)
		w := typeface.Wrap(c.Text, l.width[i], l.size, c.Bold || c.Accent)
		lines, most = append(lines, w), max(most, len(w))
	}
	return lines, most
}

func (t *Table) least(s *setter) Px {
	if len(t.Cols) == 0 || len(t.Rows) == 0 {
		return 20
	}
	l := t.layout()
	_, n := l.row(t.Rows[0])
	return min(l.headH+Px(n)*l.leading+2*rowPad, s.full())
}

func (t *Table) place(s *setter) {
	if len(t.Cols) == 0 || len(t.Rows) == 0 {
		if t.Empty != "" {
			prose{runs: []Run{{Text: t.Empty}}, size: 13, leading: 19, after: 9, role: drawing.Soft}.place(s)
		}
		return
	}
	s.gap(6)
	l := t.layout()
	s.room(t.least(s))
	t.putHead(s, l)
	for _, r := range t.Rows {
		lines, n := l.row(r)
		for from := 0; from < n; {
			need := Px(n-from)*l.leading + 2*rowPad
			if need > s.left() && s.y > inTop+l.headH+1 {
				s.turn()
				s.fresh = false
				t.putHead(s, l)
			}
			upTo := n
			if need > s.left() { // a row taller than a sheet
				upTo = from + max(1, int((s.left()-2*rowPad)/l.leading))
			}
			t.putRow(s, l, r, lines, from, min(upTo, n))
			from = upTo
		}
	}
	s.gap(16)
}

func (t *Table) putHead(s *setter, l tableLayout) {
	for i, c := range t.Cols {
		// Heads stand on the line beneath them.
		y := s.y + l.headH - rowPad - 2 - Px(len(l.head[i])-1)*l.leading
		for k, h := range l.head[i] {
			s.add(l.text(i, y+Px(k)*l.leading, c.Right, Cell{Text: h}, drawing.Soft, min(headSize, l.size)))
		}
	}
	s.y += l.headH
	s.add(drawing.Line{X1: inLeft, Y1: s.y, X2: inRight, Y2: s.y, Pen: drawing.Thin})
}

func (t *Table) putRow(s *setter, l tableLayout, cells []Cell, lines [][]string, from, upTo int) {
	for i, c := range t.Cols {
		cell := at(cells, i)
		for k := from; k < min(upTo, len(lines[i])); k++ {
			cell.Text = lines[i][k]
			s.add(l.text(i, s.y+rowPad+l.size*0.92+Px(k-from)*l.leading, c.Right, cell, drawing.Ink, l.size))
		}
	}
	s.y += Px(upTo-from)*l.leading + 2*rowPad
	s.add(drawing.Line{X1: inLeft, Y1: s.y, X2: inRight, Y2: s.y, Pen: drawing.Hair})
}

func (l tableLayout) text(i int, y Px, right bool, c Cell, role drawing.Role, size Px) drawing.Text {
	t := drawing.Text{X: l.left[i], Y: y, S: c.Text, Size: size, Bold: c.Bold || c.Accent, Role: role}
	if right {
		t.X, t.Anchor = l.left[i]+l.width[i], drawing.End
	}
	if c.Accent {
		t.Role = drawing.Accent
	}
	return t
}
