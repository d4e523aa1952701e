package mapsheet

import (
	"fmt"
	"math"
	"strconv"

	"fettle/internal/drawing"
	"fettle/internal/table"
	"fettle/internal/web/shell"
)

// Widths of the drawings: beside each other on a sheet, alone on a phone.
const (
	sheetWidth = 470
	phoneWidth = 328
)

// pictures draws the lines of equal value and the sections through a cell; a
// table of one axis is a curve.
func (b *Body) pictures(m shell.MapFile, row, col int) {
	g := &m.Grid
	switch g.Dims() {
	case 1:
		b.picture("curve", "As a curve", func(w drawing.Px) drawing.Plot { return curve(m, w) })
	case 2:
		b.picture("lines", "Lines of equal value", func(w drawing.Px) drawing.Plot { return lines(m, row, col, w) })
		b.picture("along-x", fmt.Sprintf("Along %s at %s %s", axisName(g.X), plain(g.Y.At[col]), g.Y.Unit), func(w drawing.Px) drawing.Plot { return section(m, row, col, true, w) })
		b.picture("along-y", fmt.Sprintf("Along %s at %s %s", axisName(g.Y), plain(g.X.At[row]), g.X.Unit), func(w drawing.Px) drawing.Plot { return section(m, row, col, false, w) })
	}
}

// cellAt is the cell that the sections run through: the one asked for, that of
// the last change, or the middle.
func cellAt(a shell.Ask, g *table.Grid) (row, col int) {
	row, col = a.MapView.Row, a.MapView.Col
	if a.MapTyped.Map != "" {
		row, col = a.MapTyped.Row1, a.MapTyped.Col1
	}
	if row < 0 || row >= g.Rows() || col < 0 || col >= g.Columns() {
		return g.Rows() / 2, g.Columns() / 2
	}
	return row, col
}

func (b *Body) picture(id, title string, draw func(w drawing.Px) drawing.Plot) {
	wide, phone := draw(sheetWidth), draw(phoneWidth)
	wide.Name, phone.Name = "map-"+id, "map-"+id+"-phone"
	wide.Title, phone.Title = title, title
	b.Pictures = append(b.Pictures, Picture{ID: id, Title: title, Wide: shell.Draw(wide.Draw(), false), Phone: shell.Draw(phone.Draw(), false)})
}

func axisName(a table.Axis) string {
	if a.Name != "" {
		return a.Name
	}
	return a.Unit
}

func axis(a table.Axis) drawing.Axis { return drawing.Axis{Name: a.Name, Unit: a.Unit} }

// valueAxis is the axis of the cells; a ratio has no unit.
func valueAxis(m shell.MapFile) drawing.Axis {
	unit := m.Grid.Unit
	if unit == "1" {
		unit = ""
	}
	return drawing.Axis{Name: m.Title, Unit: unit}
}

// ninety is how many standard deviations bound a normal value nine times in ten.
const ninety = 1.645

// bounds are the low and high end of a cell's estimate; ok is false without a spread.
func bounds(m shell.MapFile, cell int) (low, high drawing.Number, ok bool) {
	if m.Spread == nil {
		return 0, 0, false
	}
	z, off := m.Grid.Z[cell], ninety*m.Spread.Z[cell]
	return drawing.Number(z - off), drawing.Number(z + off), true
}

// through is a curve over cells of a table, with the band of the estimate.
func through(m shell.MapFile, at []float64, cell func(i int) int) drawing.Curve {
	c := drawing.Curve{Weight: drawing.Picked}
	for i, x := range at {
		c.X, c.Y = append(c.X, drawing.Number(x)), append(c.Y, drawing.Number(m.Grid.Z[cell(i)]))
		if low, high, ok := bounds(m, cell(i)); ok {
			c.Low, c.High = append(c.Low, low), append(c.High, high)
		}
	}
	return c
}

// curve is a table of one axis.
func curve(m shell.MapFile, w drawing.Px) drawing.Plot {
	return drawing.Plot{Width: w, X: axis(m.Grid.X), Y: valueAxis(m), Curves: []drawing.Curve{through(m, m.Grid.X.At, func(i int) int { return i })}}
}

// section is a cut through a table at a cell.
func section(m shell.MapFile, row, col int, alongX bool, w drawing.Px) drawing.Plot {
	g := &m.Grid
	at, across := g.X, row
	cell := func(i int) int { return g.Cell(i, col) }
	if !alongX {
		at, across = g.Y, col
		cell = func(i int) int { return g.Cell(row, i) }
	}
	mark := drawing.Mark{X: drawing.Number(at.At[across]), Y: drawing.Number(g.Z[g.Cell(row, col)])}
	return drawing.Plot{Width: w, X: axis(at), Y: valueAxis(m), Curves: []drawing.Curve{through(m, at.At, cell)}, Marks: []drawing.Mark{mark}}
}

// lines are the curves of equal value, each with its value at it.
func lines(m shell.MapFile, row, col int, w drawing.Px) drawing.Plot {
	g := &m.Grid
	p := drawing.Plot{Width: w, X: axis(g.X), Y: axis(g.Y), Empty: "All cells are equal: there is no line to draw."}
	p.X.From, p.X.To = drawing.Number(g.X.At[0]), drawing.Number(g.X.At[len(g.X.At)-1])
	p.Y.From, p.Y.To = drawing.Number(g.Y.At[0]), drawing.Number(g.Y.At[len(g.Y.At)-1])
	levels, digits := levelsOf(g)
	for _, z := range levels {
		label := drawing.Label{Text: signed(strconv.FormatFloat(z, 'f', digits, 64))}
		for _, line := range table.Contours(g, z) {
			c := drawing.Curve{Label: label, Spare: true}
			label = drawing.Label{} // once for each value
			for _, at := range line {
				c.X, c.Y = append(c.X, drawing.Number(at.X)), append(c.Y, drawing.Number(at.Y))
			}
			p.Curves = append(p.Curves, c)
		}
	}
	if len(p.Curves) > 0 {
		p.Marks = []drawing.Mark{{X: drawing.Number(g.X.At[row]), Y: drawing.Number(g.Y.At[col])}}
	}
	return p
}

// levelsOf are round values between the least and the greatest cell, eight or so.
func levelsOf(g *table.Grid) (levels []float64, digits int) {
	low, high := extremes(g)
	if !(high > low) {
		return nil, 0
	}
	step := niceEnd((high - low) / 8)
	digits = max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	for k := math.Ceil(low/step - 1e-9); k*step < high; k++ {
		if k*step > low {
			levels = append(levels, k*step)
		}
	}
	return levels, digits
}
