// Package mapsheet is the sheet of a controller's tables: each as a shaded grid
// that is read and changed by keyboard, with what it rests on and its revisions.
//
// Conventions: [View] is pure and makes finished strings; cells are in the units
// of the table's file, which stand in its head; shading is cividis between ends
// that are fixed for each table, so that a shade means the same before and after
// a change. A cell that rests on physics alone stands in brackets. Start reading
// at [View].
package mapsheet

import (
	"embed"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/drawing"
	"fettle/internal/quantity"
	"fettle/internal/table"
	"fettle/internal/web/shell"
)

//go:embed mapsheet.html
var files embed.FS

// Key names the page in addresses.
const Key = "maps"

// Template is the page's.
var Template = shell.Template(files, "mapsheet.html")

// Body is what the page shows.
type Body struct {
	Start, Lede string
	Stops       []string // stops head the tables, they never prevent them
	Groups      []Group
	Safe        []Rule
	Settings    []Setting
	FirstFire   string // whether it is closed
	Name        string
	Title       string
	Where       string // the file, or that there is none yet
	Problem     string
	Basis       string
	Uncertainty string
	Proposed    string // a computed table that waits beside one changed by hand
	Unwritten   bool
	Write       string // the form's address
	Edit        string
	Corner      string
	ColHeads    []string
	RowHeads    []string
	Rows        []Row
	Low, High   string
	Legend      []string
	Revisions   []Revision
	Refused     string
	Effect      string
	Typed       shell.MapEdit
	Shows       []Tab // value, spread, difference
	What        string
	Against     []Against
	NoView      string
	Step        string // the form's address
	Undo, Redo  int
	Pictures    []Picture
	At          string // the cell the sections run through, "3-4"
	CSV         string
	Pulse       *Pulse
	Cell        shell.Fig // the cell that the pick is on, which opens to its working
	CellAt      string
	CellSpread  string
	SafeHere    []Rule // of the safe side, that this table is moved by
}

// Against is what a table can be held against.
type Against struct {
	Value, Name string
	Chosen      bool
}

// Picture is a drawing with its heading, drawn anew for a phone.
type Picture struct {
	ID, Title   string
	Wide, Phone template.HTML
}

// Tab leads to one table.
type Tab struct {
	Name, Href string
	Current    bool
}

// Row is a row of cells.
type Row struct {
	Head  string
	Cells []Cell
}

// Cell is one figure of a table.
type Cell struct {
	ID    string
	Text  string
	Class string
}

// Revision is an earlier content of the table.
type Revision struct {
	N      int
	By     string
	Reason string
	File   string
	Back   string // the form's address, empty for the present one
}

// ends are the fixed ends of the shading of the tables we know.
var ends = map[string][2]float64{"ve": {0.4, 1.1}, "spark": {-5, 45}, "lambda": {0.8, 1.1}, "dwell": {0, 8}, "deadtime": {0, 3}}

// View makes the page.
func View(a shell.Ask) Body {
	b := Body{Start: "Starting tables, from physics.", Lede: "They are there to fire the engine and not to hurt it; logs correct them. Every change is a revision with its reason, and nothing is written over."}
	for _, f := range a.Result.Findings {
		if f.Severity.String() == "stop" && f.Waived == "" {
			b.Stops = append(b.Stops, shell.Capital(f.Msg).String())
		}
	}
	for _, m := range a.Maps {
		b.list(Tab{Name: m.Title, Href: "/maps?map=" + m.Name, Current: m.Name == a.Map}, groupOf(m.Name))
		if m.Name == a.Map {
			b.fill(a, m)
		}
	}
	b.beside(a)
	if len(a.Maps) > 0 {
		b.pulse(a)
	}
	if len(a.Maps) == 0 {
		b.Start, b.Lede = "No table could be made.", a.MapsProblem
	}
	return b
}

func (b *Body) fill(a shell.Ask, m shell.MapFile) {
	b.Name, b.Title, b.Problem = m.Name, m.Title, m.Problem
	b.Basis, b.Uncertainty = m.Meta.Basis, m.Meta.Uncertainty
	b.Write, b.Edit = "/maps/write", "/maps/edit"
	b.Where = "maps/" + m.Name + ".csv"
	if !m.Written {
		b.Where, b.Unwritten = "computed, not written yet", true
	}
	if m.Proposed {
		b.Proposed = "maps/" + m.Name + ".proposed.csv"
	}
	b.Typed = a.MapTyped
	b.Refused = a.MapRefuse
	b.Typed.Map, b.Typed.Seen = m.Name, m.Stamp
	for _, r := range m.Revisions {
		rev := Revision{N: r.N, By: r.By, Reason: r.Reason, File: r.File}
		if r.Kept != "" {
			rev.Back = "/maps/back"
		}
		b.Revisions = append(b.Revisions, rev)
	}
	b.CSV = "/maps/" + m.Name + ".csv"
	b.Step, b.Undo, b.Redo, b.Effect = "/maps/step", m.Undo, m.Redo, a.MapEffect
	if m.Problem == "" {
		b.shows(a, m)
		b.grid(m, b.seen(a, m))
		row, col := cellAt(a, &m.Grid)
		b.cell(m, row, col)
		b.pictures(m, row, col)
		if a.MapTyped.Map == "" || a.MapTyped.Row0 < 0 { // nothing was changed: the pick is where the sections are
			b.Typed.Row0, b.Typed.Row1, b.Typed.Col0, b.Typed.Col1 = row, row, col, col
		}
	}
}

// cell names the picked cell, so that its working can be opened.
func (b *Body) cell(m shell.MapFile, row, col int) {
	g := &m.Grid
	low, high := span(m.Name, g)
	digits, k := decimals(low, high), g.Cell(row, col)
	unit := g.Unit
	if unit == "1" {
		unit = ""
	}
	text := signed(strconv.FormatFloat(g.Z[k], 'f', digits, 64))
	b.Cell = shell.Fig{ID: string(calibrate.CellID(m.Name, row, col)), Text: withUnit(text, unit), Assumed: !m.ByHand}
	b.CellAt = place(g.X, row)
	if at := place(g.Y, col); at != "" {
		b.CellAt += ", " + at
	}
	if m.Spread != nil {
		b.CellSpread = "± " + withUnit(quantity.Number(2*m.Spread.Z[k], "", 2), unit)
	}
	b.At = fmt.Sprintf("%d-%d", row, col)
}

func place(a table.Axis, i int) string {
	if len(a.At) == 0 {
		return ""
	}
	return plain(a.At[i]) + "\u00a0" + a.Unit
}

// grid makes the cells of what is shown of a table.
func (b *Body) grid(m shell.MapFile, v seen) {
	g := v.grid
	digits := decimals(v.low, v.high)
	b.Corner = corner(g)
	for c := range g.Columns() {
		b.ColHeads = append(b.ColHeads, head(g.Y, c, m.Grid.Unit))
	}
	for r := range g.Rows() {
		row := Row{Head: head(g.X, r, "")}
		for c := range g.Columns() {
			z := g.Z[g.Cell(r, c)]
			row.Cells = append(row.Cells, Cell{ID: fmt.Sprintf("c-%d-%d", r, c), Text: v.text(z, digits, m.ByHand), Class: v.class(z)})
		}
		b.RowHeads = append(b.RowHeads, row.Head)
		b.Rows = append(b.Rows, row)
	}
	if v.show == showDifference {
		return // squares need no scale beside their figures
	}
	b.Low, b.High = plain(v.low), plain(v.high)
	for i := range 12 {
		b.Legend = append(b.Legend, drawing.ShadeClass(float64(i)/11))
	}
}

func span(name string, g *table.Grid) (low, high float64) {
	if e, ok := ends[name]; ok {
		return e[0], e[1]
	}
	low, high = math.Inf(1), math.Inf(-1)
	for _, z := range g.Z {
		low, high = min(low, z), max(high, z)
	}
	if !(high > low) {
		return low - 1, low + 1
	}
	return low, high
}

// decimals shows a hundredth of the table's span.
func decimals(low, high float64) int {
	return max(0, min(3, int(math.Ceil(2-math.Log10(high-low)))))
}

func corner(g *table.Grid) string {
	switch {
	case len(g.X.At) == 0:
		return ""
	case len(g.Y.At) == 0:
		return g.X.Unit
	}
	return g.X.Unit + " \\ " + g.Y.Unit
}

func head(a table.Axis, i int, none string) string {
	if len(a.At) == 0 {
		return none
	}
	return plain(a.At[i])
}

func plain(v float64) string {
	return strings.ReplaceAll(strconv.FormatFloat(v, 'f', -1, 64), "-", "−")
}
