package table

import (
	"fmt"
	"strconv"
	"strings"
)

// Between returns the grid with a block filled from its corners.
//
//	z = (1−u)(1−v) z₀₀ + u(1−v) z₁₀ + (1−u)v z₀₁ + u v z₁₁
//
// where u and v run from 0 to 1 along the axes from one edge of the block to the
// other, by the axes' values and not by the count of cells. A block of one row
// or column is filled from its two ends.
//
// Valid: a block within the grid, on axes of numbers that increase.
// Accuracy: rounding.
// Source: Press, Teukolsky, Vetterling, Flannery, Numerical Recipes, 3rd ed. 2007, section 3.6.
// Errors: a block outside the grid.
func Between(g *Grid, b Block) (Grid, error) {
	if err := b.Check(g); err != nil {
		return Grid{}, err
	}
	out := g.Clone()
	z := func(r, c int) float64 { return g.Z[g.Cell(r, c)] }
	for r := b.Row0; r <= b.Row1; r++ {
		u := share(g.X, b.Row0, b.Row1, r)
		for c := b.Col0; c <= b.Col1; c++ {
			v := share(g.Y, b.Col0, b.Col1, c)
			out.Z[out.Cell(r, c)] = (1-u)*(1-v)*z(b.Row0, b.Col0) + u*(1-v)*z(b.Row1, b.Col0) + (1-u)*v*z(b.Row0, b.Col1) + u*v*z(b.Row1, b.Col1)
		}
	}
	return out, nil
}

// share is how far a point stands from one point of an axis to another.
func share(a Axis, from, to, at int) float64 {
	if from == to {
		return 0
	}
	return (a.value(at) - a.value(from)) / (a.value(to) - a.value(from))
}

// Smooth returns the grid with each cell of a block drawn halfway to what its
// neighbours say.
//
//	z' = z/2 + (z_x + z_y)/4
//
// where z_x and z_y are the values on the straight lines between the two
// neighbours along each axis, by the axes' values; an axis on which the cell has
// one neighbour or none counts with the cell's own value. A plane stays as it is.
//
// Valid: a block within the grid.
// Accuracy: a convention; a chequer from cell to cell vanishes, a ripple from row to row is halved.
// Source: common practice.
// Errors: a block outside the grid.
func Smooth(g *Grid, b Block) (Grid, error) {
	if err := b.Check(g); err != nil {
		return Grid{}, err
	}
	out := g.Clone()
	for r := b.Row0; r <= b.Row1; r++ {
		for c := b.Col0; c <= b.Col1; c++ {
			own := g.Z[g.Cell(r, c)]
			zx, zy := own, own
			if r > 0 && r < g.Rows()-1 {
				u := share(g.X, r-1, r+1, r)
				zx = (1-u)*g.Z[g.Cell(r-1, c)] + u*g.Z[g.Cell(r+1, c)]
			}
			if c > 0 && c < g.Columns()-1 {
				v := share(g.Y, c-1, c+1, c)
				zy = (1-v)*g.Z[g.Cell(r, c-1)] + v*g.Z[g.Cell(r, c+1)]
			}
			out.Z[out.Cell(r, c)] = own/2 + (zx+zy)/4
		}
	}
	return out, nil
}

// Paste returns the grid with cells from a spreadsheet put in, the first at the
// given row and column: lines of numbers with tabs between them. A single number
// fills the whole of the block that is picked.
func Paste(g *Grid, b Block, text string) (Grid, error) {
	if err := b.Check(g); err != nil {
		return Grid{}, err
	}
	rows, err := parseCells(text)
	if err != nil {
		return Grid{}, err
	}
	if len(rows) == 1 && len(rows[0]) == 1 {
		return Change{Set: true, Add: rows[0][0]}.Apply(g, b)
	}
	to := Block{b.Row0, b.Row0 + len(rows) - 1, b.Col0, b.Col0 + len(rows[0]) - 1}
	if to.Check(g) != nil {
		return Grid{}, fmt.Errorf("%d rows and %d columns don't fit from row %d and column %d on into a table of %d by %d", len(rows), len(rows[0]), b.Row0+1, b.Col0+1, g.Rows(), g.Columns())
	}
	out := g.Clone()
	for i, row := range rows {
		for j, v := range row {
			out.Z[out.Cell(b.Row0+i, b.Col0+j)] = v
		}
	}
	return out, nil
}

// parseCells reads lines of numbers with tabs between them.
func parseCells(text string) ([][]float64, error) {
	var rows [][]float64
	for i, line := range strings.Split(strings.TrimRight(strings.ReplaceAll(text, "\r", ""), "\n"), "\n") {
		var row []float64
		for j, cell := range strings.Split(line, "\t") {
			t := strings.Trim(strings.NewReplacer("−", "-", "\u00a0", "", "\u202f", "").Replace(cell), " ()")
			v, err := strconv.ParseFloat(t, 64)
			if err != nil || v-v != 0 {
				return nil, fmt.Errorf("cell %d of line %d is %q; numbers with tabs between them are wanted, with a point for decimals", j+1, i+1, cell)
			}
			row = append(row, v)
		}
		if i > 0 && len(row) != len(rows[0]) {
			return nil, fmt.Errorf("line %d has %d cells, the first has %d", i+1, len(row), len(rows[0]))
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// Difference returns g less h, on the axes of g. Where h has other axes it is
// looked up; a cell that h does not reach makes it an error.
func Difference(g, h *Grid) (Grid, error) {
	if g.Dims() != h.Dims() || g.Unit != h.Unit {
		return Grid{}, fmt.Errorf("a table of %d axes in %q has no difference to one of %d in %q", g.Dims(), g.Unit, h.Dims(), h.Unit)
	}
	out := g.Clone()
	out.Spread, out.Support = nil, nil
	for r := range g.Rows() {
		for c := range g.Columns() {
			z, err := h.At(g.X.value(r), g.Y.value(c))
			if err != nil {
				return Grid{}, fmt.Errorf("the other table does not reach: %w", err)
			}
			out.Z[out.Cell(r, c)] -= z
		}
	}
	return out, nil
}
