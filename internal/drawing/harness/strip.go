package harness

import (
	"fmt"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Measures of what hangs from a place.
const (
	lettering = 12
	rowH      = 17 // a row with a face of one line
	sharedH   = 24 // of several things
	stub      = 38 // from the rail to the first face: room for two balloons
	faceGap   = 4  // between faces in a row
	labelGap  = 7  // from the last face to its label
	figureGap = 5
	columnGap = 12
	headH     = 20 // the place's name above its rows
	cellW     = 5.5
	cellH     = 9
	smallCell = 6.5 // of plugs with many ways
	wideWays  = 12  // cells in a line of such a plug
	bulletR   = 8   // radius of a balloon
)

// face is the room a thing's sign takes.
func (r Row) face(t Thing) (w, h Px) {
	switch r.Sign {
	case Plug:
		if t.Ways > 8 {
			cols, lines := t.grid()
			return Px(cols)*smallCell + 2, Px(lines)*smallCell + 4
		}
		return Px(max(1, t.Ways))*cellW + 1, cellH + 3
	case Splice:
		return 9, 9
	case Ground:
		return 10, 12
	case Fuse:
		return 14, 7
	case Relay:
		return 16, 12
	case Ring:
		return 9, 9
	}
	return 10, 9
}

// grid is how the ways of a large plug stand: in lines of equal length.
func (t Thing) grid() (cols, lines int) {
	lines = t.Lines
	if lines < 1 || lines > t.Ways {
		lines = (t.Ways + wideWays - 1) / wideWays
	}
	return (t.Ways + lines - 1) / lines, lines
}

// size is the room of a row from its rail on.
func (r Row) size() (w, h Px) {
	w, h = stub, rowH
	for _, t := range r.Things {
		fw, fh := r.face(t)
		w += fw + faceGap
		h = max(h, fh+6)
		if len(r.Things) > 1 { // they stand on their line
			h = max(h, sharedH, fh+12)
		}
	}
	label := typeface.WidthPx(r.Label, lettering, true)
	for _, t := range r.Things {
		label = max(label, typeface.WidthPx(t.Label, lettering, true))
	}
	if r.Figure.Text != "" {
		label += figureGap + typeface.WidthPx(r.Figure.Text, lettering, true)
	}
	if r.Bond != Loose {
		label += bondGap + bondW
	}
	return w - faceGap + labelGap + label, h
}

// cell is where a row stands in a strip: its rail's x from the bar, and the
// middle of its line from the feeder.
type cell struct {
	row  int
	x, y Px
}

// strip is a place's rows in columns, each on a rail under a common feeder.
type strip struct {
	named  bool
	cells  []cell
	rails  []Px // x of each
	feet   []Px // where each ends
	w, h   Px   // from the bar and the feeder, the head above it
	hasBar bool // no rows: only a name
}

// heading is a place's name with what stands behind its note.
func (p Place) heading() (name, more string) {
	name = p.Name
	if p.Bulkhead && !strings.Contains(name, "bulkhead") {
		name += ", bulkhead"
	}
	if p.Note.Text != "" {
		name += ", "
	}
	return name, p.More
}

// headingW is how wide a heading runs.
func (p Place) headingW() Px {
	name, more := p.heading()
	w := typeface.WidthPx(name+p.Note.Text, lettering, true)
	if more != "" {
		w += 5 + typeface.WidthPx(more, lettering, false)
	}
	return w
}

// hung lists the rows that hang from the bar, those that lead excepted.
func (t *Tree) hung(place int) []int {
	var out []int
	for i, r := range t.Places[place].Rows {
		if !(r.Lead && place == t.Root) {
			out = append(out, i)
		}
	}
	return out
}

// strip sets the rows of a place in a number of columns.
func (t *Tree) strip(place, columns int) strip {
	p := t.Places[place]
	s := strip{named: p.Name != ""}
	s.w = 10 + p.headingW()
	rows := t.hung(place)
	var total Px
	for _, i := range rows {
		_, h := p.Rows[i].size()
		total += h
	}
	target := total / Px(columns)
	x, y, wide := Px(0), Px(6), Px(0)
	foot := Px(0)
	turn := func() {
		s.rails, s.feet = append(s.rails, x), append(s.feet, foot)
		x, y, wide = x+wide+columnGap, 6, 0
	}
	for n, i := range rows {
		w, h := p.Rows[i].size()
		if n > 0 && y-6+h/2 > target && len(s.rails) < columns-1 {
			turn()
		}
		s.cells = append(s.cells, cell{i, x, y + h/2})
		foot = y + h/2
		y += h
		wide = max(wide, w)
		s.w, s.h = max(s.w, x+wide), max(s.h, y)
	}
	if len(rows) > 0 {
		turn()
	} else {
		s.hasBar = true
		s.h = 6
	}
	return s
}

// extent is the room a strip takes about the point where its feeder begins.
func (s strip) extent() drawing.Extent {
	return drawing.Extent{Left: 0, Top: -headH, Right: s.w + 6, Bottom: s.h + 4}
}

// lead is the room of the rows before the root.
func (t *Tree) lead() (w, h Px, rows []int) {
	for i, r := range t.Places[t.Root].Rows {
		if r.Lead {
			rw, rh := r.size()
			w, h = max(w, rw), h+rh+4
			rows = append(rows, i)
		}
	}
	return w, h, rows
}

func (t *Tree) id(parts ...any) string {
	out := t.Name
	for _, p := range parts {
		out += fmt.Sprintf("-%v", p)
	}
	return out
}
