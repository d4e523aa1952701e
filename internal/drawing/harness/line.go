package harness

import (
	"fmt"
	"math"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Line is a followed way as a strip for a narrow screen: its stations in a row to
// scale, the way out from left to right and the way back beneath it.
type Line struct {
	Name, Title string
	Width       Px
	At          int // the station that is looked at, from 1
	Stops       []LineStop
}

// LineStop is a station and what leads on from it.
type LineStop struct {
	To       string
	LengthMM drawing.Number // of the wires to the next station
	Length   drawing.Label  // that, written
	Return   bool           // what leads on is a way back
	Load     bool           // what leads on is the device
	Bad      bool
}

const (
	lineTop   = 16
	lineDown  = 52 // from the way out to the way back
	lineLeast = 2*bulletR + 4
)

// Draw makes the strip.
func (l Line) Draw() *drawing.Drawing {
	d := &drawing.Drawing{Name: l.Name, Title: l.Title, W: l.Width, H: lineTop + 28}
	rows := l.rows()
	perMM := l.scale(rows)
	var last drawing.Point
	for n, row := range rows {
		x, y, way := Px(bulletR+3), lineTop+Px(n)*lineDown, Px(1)
		if n%2 == 1 {
			x, way = l.Width-bulletR-3, -1
		}
		for i, stop := range row {
			at := drawing.Point{X: x, Y: y}
			if i == 0 && n > 0 {
				l.turn(d, last, at, l.Stops[stop-1])
			}
			s := l.Stops[stop]
			if i+1 < len(row) {
				next := x + way*(lineLeast+Px(s.LengthMM)*perMM)
				l.leg(d, s, x, next, y, way)
				x = next
			}
			l.dot(d, stop, at)
			last = at
		}
		d.H = y + 28
	}
	return d
}

// rows parts the stations where the load stands, and where a row is full.
func (l Line) rows() [][]int {
	var rows [][]int
	var row []int
	most := int((l.Width - 2*bulletR - 6) / lineLeast)
	for i, s := range l.Stops {
		row = append(row, i)
		if s.Load || len(row) > most {
			rows, row = append(rows, row), nil
		}
	}
	if len(row) > 0 {
		rows = append(rows, row)
	}
	return rows
}

// scale is the greatest at which every row fits.
func (l Line) scale(rows [][]int) Px {
	best := Px(math.Inf(1))
	for _, row := range rows {
		var mm drawing.Number
		for _, i := range row[:len(row)-1] {
			if finitePositive(l.Stops[i].LengthMM) {
				mm += l.Stops[i].LengthMM
			}
		}
		room := l.Width - 2*bulletR - 6 - Px(len(row)-1)*lineLeast
		if mm > 0 {
			best = min(best, max(0, room)/Px(mm))
		}
	}
	if math.IsInf(float64(best), 1) {
		return 0
	}
	return best
}

func linePen(s LineStop) drawing.Pen {
	pen := drawing.Pen{Role: drawing.Ink, Width: 2.6}
	if s.Return {
		pen.Dash, pen.Width = drawing.Dashed, 2.2
	}
	if s.Bad {
		pen.Role, pen.Width = drawing.Accent, 3
	}
	return pen
}

func (l Line) leg(d *drawing.Drawing, s LineStop, x, next, y, way Px) {
	d.Add(drawing.Line{X1: x + way*bulletR, Y1: y, X2: next - way*bulletR, Y2: y, Pen: linePen(s)})
	if !finitePositive(s.LengthMM) || s.Length.Text == "" {
		return
	}
	if typeface.WidthPx(s.Length.Text, lettering, s.Bad) > (next-x)*way+2 {
		return
	}
	t := drawing.Text{X: (x + next) / 2, Y: y + bulletR + 13, S: s.Length.Text, Ref: s.Length.Ref, Size: lettering, Anchor: drawing.Middle, Role: drawing.Soft}
	if s.Bad {
		t.Role, t.Bold = drawing.Accent, true
	}
	d.Add(t)
}

// turn leads from the end of a row to the beginning of the next, through the
// device when that is what lies between.
func (l Line) turn(d *drawing.Drawing, from, to drawing.Point, s LineStop) {
	pen := linePen(s)
	if s.Load {
		pen = drawing.Pen{Role: drawing.Ink, Width: 1.5, Dash: drawing.Dotted}
	}
	mid := (from.Y + to.Y) / 2
	if from.X == to.X {
		d.Add(drawing.Line{X1: from.X, Y1: from.Y + bulletR, X2: to.X, Y2: to.Y - bulletR, Pen: pen})
		return
	}
	d.Add(drawing.Polyline(pen, drawing.Point{X: from.X, Y: from.Y + bulletR}, drawing.Point{X: from.X, Y: mid + 6}, drawing.Point{X: to.X, Y: mid + 6}, drawing.Point{X: to.X, Y: to.Y - bulletR}))
}

func (l Line) dot(d *drawing.Drawing, stop int, at drawing.Point) {
	g := drawing.Group{ID: fmt.Sprintf("%s-stop-%d", l.Name, stop+1), Title: fmt.Sprintf("station %d of %d", stop+1, len(l.Stops)), To: l.Stops[stop].To}
	text, fill := drawing.Paper, drawing.Ink
	if l.At > 0 && l.At != stop+1 {
		text, fill = drawing.Ink, drawing.Paper
	}
	g.Items = append(g.Items, drawing.Circle{X: at.X, Y: at.Y, R: bulletR, Pen: drawing.Pen{Role: drawing.Ink, Width: 1.4}, Fill: drawing.Filled(fill)},
		drawing.Text{X: at.X, Y: at.Y + 4.2, S: itoa(stop + 1), Size: 11.5, Anchor: drawing.Middle, Bold: true, Role: text})
	d.Add(g)
}
