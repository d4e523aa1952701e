package table

import (
	"fmt"
	"sort"
)

// Weights is a place in a grid between four cells. It serves every grid that
// has the same axes, so that several tables are looked up with one search.
type Weights struct {
	row, column    int
	down, across   float64 // 0…1 from the cell to the next
	columns        int
	lastRow        bool
	lastColumn     bool
	clampX, clampY bool
}

// At returns the value of the grid at a place, interpolated between the four
// cells around it; an absent axis ignores its argument.
//
//	z = (1−u)(1−v) z₀₀ + u(1−v) z₁₀ + (1−u)v z₀₁ + u v z₁₁
//
// where u = (x − x₀)/(x₁ − x₀) and v = (y − y₀)/(y₁ − y₀) within the cell.
//
// Valid: within the axes; outside an error is returned.
// Accuracy: exact for a function linear in each axis; else h²/8 times the second derivative along each axis of step h.
// Source: Press, Teukolsky, Vetterling, Flannery, Numerical Recipes, 3rd ed. 2007, section 3.6.
// Errors: place outside an axis, or not a number.
func (g *Grid) At(x, y float64) (float64, error) {
	w, err := g.Weights(x, y)
	if err != nil {
		return 0, err
	}
	return w.Of(g), nil
}

// Clamped is At with a place outside moved to the nearest edge; clamped says
// whether it was.
func (g *Grid) Clamped(x, y float64) (z float64, clamped bool) {
	w := g.weights(x, y)
	return w.Of(g), w.clampX || w.clampY
}

// Weights finds a place in the grid, once for all grids of the same axes.
func (g *Grid) Weights(x, y float64) (Weights, error) {
	w := g.weights(x, y)
	if w.clampX {
		return w, g.outside(g.X, x)
	}
	if w.clampY {
		return w, g.outside(g.Y, y)
	}
	return w, nil
}

func (g *Grid) outside(a Axis, v float64) error {
	return fmt.Errorf("table %q: %s %g %s is outside %g … %g", g.Name, a.label(), v, a.Unit, a.At[0], a.At[len(a.At)-1])
}

func (g *Grid) weights(x, y float64) Weights {
	w := Weights{columns: g.Columns()}
	w.row, w.down, w.clampX = g.X.find(x)
	w.column, w.across, w.clampY = g.Y.find(y)
	w.lastRow = w.row+1 >= g.Rows()
	w.lastColumn = w.column+1 >= g.Columns()
	return w
}

// find locates v between point i and the next. A place that is not a number
// counts as outside, at the lower edge.
func (a Axis) find(v float64) (i int, frac float64, outside bool) {
	n := len(a.At)
	switch {
	case n == 0:
		return 0, 0, false
	case !(v >= a.At[0]):
		return 0, 0, true
	case v > a.At[n-1]:
		return n - 1, 0, true
	case v == a.At[n-1]:
		return n - 1, 0, false
	}
	i = sort.SearchFloat64s(a.At, v)
	if a.At[i] > v {
		i--
	}
	return i, (v - a.At[i]) / (a.At[i+1] - a.At[i]), false
}

// Of is the interpolated value of a grid at the place.
func (w Weights) Of(g *Grid) float64 { return w.of(g.Z) }

// SpreadOf is the interpolated spread of a grid at the place; 0 without spreads.
func (w Weights) SpreadOf(g *Grid) float64 {
	if g.Spread == nil {
		return 0
	}
	return w.of(g.Spread)
}

func (w Weights) of(z []float64) float64 {
	k := w.row*w.columns + w.column
	top := z[k]
	if !w.lastColumn {
		top += w.across * (z[k+1] - z[k])
	}
	if w.lastRow {
		return top
	}
	k += w.columns
	low := z[k]
	if !w.lastColumn {
		low += w.across * (z[k+1] - z[k])
	}
	return top + w.down*(low-top)
}

// Cells lists the cells around the place and the share of each, summing to 1.
func (w Weights) Cells() (cells []int, shareFrac []float64) {
	add := func(row, column int, share float64) {
		if share > 0 {
			cells = append(cells, row*w.columns+column)
			shareFrac = append(shareFrac, share)
		}
	}
	add(w.row, w.column, (1-w.down)*(1-w.across))
	if !w.lastColumn {
		add(w.row, w.column+1, (1-w.down)*w.across)
	}
	if !w.lastRow {
		add(w.row+1, w.column, w.down*(1-w.across))
	}
	if !w.lastRow && !w.lastColumn {
		add(w.row+1, w.column+1, w.down*w.across)
	}
	return cells, shareFrac
}
