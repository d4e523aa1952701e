// Package table holds grids of numbers over none, one or two axes, with a
// spread and a support per cell, looks them up and reads and writes them as CSV.
//
// Conventions: X is the axis of the rows, Y the axis of the columns, Z is
// row-major. A grid computed inside is coherent SI on all three; a grid read
// from a file is in the units the file names, and [Grid.Map] converts it. A
// look-up outside the axes is an error; [Grid.Clamped] takes the nearest edge
// and says that it did. Start reading at [Grid], then [Read].
package table

import (
	"fmt"
	"math"
	"slices"
)

// Axis is one strictly increasing axis. An axis without points is absent.
type Axis struct {
	Name, Unit string
	At         []float64
}

// Grid is a table of len(X.At) rows and len(Y.At) columns, an absent axis
// counting as one point. A table over one variable has X only.
type Grid struct {
	Name, Unit string
	X, Y       Axis
	Z          []float64 // row-major
	Spread     []float64 // one standard deviation per cell in the unit of Z; nil when not known
	Support    []int     // how many observations stand behind each cell; nil when not learned
}

// New makes a grid of zeros over the axes.
func New(name, unit string, x, y Axis) Grid {
	return Grid{Name: name, Unit: unit, X: x, Y: y, Z: make([]float64, x.points()*y.points())}
}

func (a Axis) points() int { return max(1, len(a.At)) }

// Dims counts the axes that have points: 0, 1 or 2.
func (g *Grid) Dims() int {
	n := 0
	for _, a := range []Axis{g.X, g.Y} {
		if len(a.At) > 0 {
			n++
		}
	}
	return n
}

// Rows counts the rows.
func (g *Grid) Rows() int { return g.X.points() }

// Columns counts the columns.
func (g *Grid) Columns() int { return g.Y.points() }

// Cell is the index into Z of a row and column.
func (g *Grid) Cell(row, column int) int { return row*g.Columns() + column }

// Fill sets every cell from its axis values; an absent axis passes 0.
func (g *Grid) Fill(f func(x, y float64) float64) {
	for i := range g.Rows() {
		for j := range g.Columns() {
			g.Z[g.Cell(i, j)] = f(g.X.value(i), g.Y.value(j))
		}
	}
}

func (a Axis) value(i int) float64 {
	if len(a.At) == 0 {
		return 0
	}
	return a.At[i]
}

// Check returns the first thing wrong with the grid's shape or numbers.
func (g *Grid) Check() error {
	if len(g.X.At) == 0 && len(g.Y.At) > 0 {
		return fmt.Errorf("table %q: has a column axis and no row axis", g.Name)
	}
	for _, a := range []Axis{g.X, g.Y} {
		if err := a.check(); err != nil {
			return fmt.Errorf("table %q: %w", g.Name, err)
		}
	}
	cells := g.Rows() * g.Columns()
	if len(g.Z) != cells {
		return fmt.Errorf("table %q: holds %d values, its axes need %d", g.Name, len(g.Z), cells)
	}
	if g.Spread != nil && len(g.Spread) != cells {
		return fmt.Errorf("table %q: holds %d spreads, its axes need %d", g.Name, len(g.Spread), cells)
	}
	if g.Support != nil && len(g.Support) != cells {
		return fmt.Errorf("table %q: holds %d supports, its axes need %d", g.Name, len(g.Support), cells)
	}
	if i := slices.IndexFunc(g.Z, notFinite); i >= 0 {
		return fmt.Errorf("table %q: row %d column %d is %g, not a finite number", g.Name, i/g.Columns()+1, i%g.Columns()+1, g.Z[i])
	}
	return nil
}

func (a Axis) check() error {
	for i, v := range a.At {
		if notFinite(v) {
			return fmt.Errorf("axis %q: point %d is %g, not a finite number", a.label(), i+1, v)
		}
		if i > 0 && v <= a.At[i-1] {
			return fmt.Errorf("axis %q: point %d is %g, not above the %g before it", a.label(), i+1, v, a.At[i-1])
		}
	}
	return nil
}

func (a Axis) label() string {
	if a.Name != "" {
		return a.Name
	}
	return a.Unit
}

func notFinite(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

// Equal reports whether two axes have the same points.
func (a Axis) Equal(b Axis) bool { return slices.Equal(a.At, b.At) }

// Map returns a copy with axes and cells converted, for example to another
// unit. Spreads are converted as the difference that they are. The functions
// must be increasing and linear; the caller sets the new unit names.
func (g *Grid) Map(x, y, z func(float64) float64) Grid {
	out := *g
	out.X.At, out.Y.At = mapped(g.X.At, x), mapped(g.Y.At, y)
	out.Z = mapped(g.Z, z)
	out.Support = slices.Clone(g.Support)
	if g.Spread != nil {
		out.Spread = mapped(g.Spread, func(v float64) float64 { return z(v) - z(0) })
	}
	return out
}

func mapped(in []float64, f func(float64) float64) []float64 {
	if in == nil {
		return nil
	}
	out := make([]float64, len(in))
	for i, v := range in {
		out[i] = f(v)
	}
	return out
}

// Clone returns a copy that shares nothing with the grid.
func (g *Grid) Clone() Grid {
	same := func(v float64) float64 { return v }
	out := g.Map(same, same, same)
	out.Spread = slices.Clone(g.Spread)
	return out
}

// SpreadGrid is the grid of the spreads, for a look-up or a file of its own;
// ok is false when there are none.
func (g *Grid) SpreadGrid() (spread Grid, ok bool) {
	if g.Spread == nil {
		return Grid{}, false
	}
	return Grid{Name: g.Name + ", one standard deviation", Unit: g.Unit, X: g.X, Y: g.Y, Z: g.Spread}, true
}
