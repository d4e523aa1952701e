package table

import (
	"math"
	"slices"
)

// Place is a point on the axes of a grid.
type Place struct{ X, Y float64 }

// Contours returns the lines on which a grid of two axes has a value.
//
// Each line runs from edge to edge or comes back to where it began; between the
// points it is straight. Within a cell of four points the crossings of its edges
// are joined; where all four edges are crossed, the value in the middle, the mean
// of the four, says which belong together.
//
//	x = x₀ + (x₁ − x₀)(z − z₀)/(z₁ − z₀)  along an edge
//
// Valid: two axes and finite cells; else nothing is returned.
// Accuracy: exact on the cells' edges for the bilinear surface; within a cell its
// hyperbola is drawn straight.
// Source: marching squares; Lorensen, Cline, Computer Graphics 21 (1987) 163, in two dimensions.
// Errors: none; a value that the grid does not have gives no line.
func Contours(g *Grid, level float64) [][]Place {
	if g.Dims() != 2 || slices.ContainsFunc(g.Z, func(z float64) bool { return math.IsNaN(z) || math.IsInf(z, 0) }) {
		return nil
	}
	m := march{g: g, level: level, next: map[edge][]edge{}}
	for r := range g.Rows() - 1 {
		for c := range g.Columns() - 1 {
			m.cell(r, c)
		}
	}
	return m.lines()
}

// edge is a side of a cell: from a point to the next along X, or along Y.
type edge struct {
	row, col int
	alongX   bool
}

type march struct {
	g     *Grid
	level float64
	next  map[edge][]edge
	order []edge // as found, so that the lines repeat
}

func (m *march) above(r, c int) bool { return m.g.Z[m.g.Cell(r, c)] > m.level }

// cell joins the crossings of a cell's edges.
func (m *march) cell(r, c int) {
	ring := [4]bool{m.above(r, c), m.above(r+1, c), m.above(r+1, c+1), m.above(r, c+1)}
	sides := [4]edge{{r, c, true}, {r + 1, c, false}, {r, c + 1, true}, {r, c, false}}
	var crossed []int
	for i := range sides {
		if ring[i] != ring[(i+1)%4] {
			crossed = append(crossed, i)
		}
	}
	switch len(crossed) {
	case 2:
		m.join(sides[crossed[0]], sides[crossed[1]])
	case 4:
		z := m.g.Z
		middle := (z[m.g.Cell(r, c)] + z[m.g.Cell(r+1, c)] + z[m.g.Cell(r+1, c+1)] + z[m.g.Cell(r, c+1)]) / 4
		// The corner points that differ from the middle are cut off.
		if (middle > m.level) == ring[0] {
			m.join(sides[0], sides[1])
			m.join(sides[2], sides[3])
		} else {
			m.join(sides[3], sides[0])
			m.join(sides[1], sides[2])
		}
	}
}

func (m *march) join(a, b edge) {
	for _, p := range [2][2]edge{{a, b}, {b, a}} {
		if len(m.next[p[0]]) == 0 {
			m.order = append(m.order, p[0])
		}
		m.next[p[0]] = append(m.next[p[0]], p[1])
	}
}

// lines walks the joined edges: those with an end first, then the rings.
func (m *march) lines() [][]Place {
	var out [][]Place
	seen := map[edge]bool{}
	for _, open := range []bool{true, false} {
		for _, e := range m.order {
			if seen[e] || open != (len(m.next[e]) == 1) {
				continue
			}
			out = append(out, m.walk(e, seen))
		}
	}
	return out
}

func (m *march) walk(from edge, seen map[edge]bool) []Place {
	var line []Place
	for e, more := from, true; more; {
		seen[e] = true
		line = append(line, m.place(e))
		more = false
		for _, n := range m.next[e] {
			if !seen[n] {
				e, more = n, true
				break
			}
		}
		if !more && e != from && slices.Contains(m.next[e], from) && len(line) > 2 {
			line = append(line, line[0])
		}
	}
	return line
}

func (m *march) place(e edge) Place {
	g := m.g
	r1, c1 := e.row, e.col+1
	if e.alongX {
		r1, c1 = e.row+1, e.col
	}
	z0, z1 := g.Z[g.Cell(e.row, e.col)], g.Z[g.Cell(r1, c1)]
	t := (m.level - z0) / (z1 - z0)
	x, y := g.X.At[e.row], g.Y.At[e.col]
	return Place{x + t*(g.X.At[r1]-x), y + t*(g.Y.At[c1]-y)}
}
