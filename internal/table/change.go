package table

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Block is a rectangle of cells, both ends included, counted from 0.
type Block struct{ Row0, Row1, Col0, Col1 int }

// Check reports whether the block lies within a grid, with its ends in order.
func (b Block) Check(g *Grid) error {
	if b.Row0 < 0 || b.Col0 < 0 || b.Row1 < b.Row0 || b.Col1 < b.Col0 || b.Row1 >= g.Rows() || b.Col1 >= g.Columns() {
		return fmt.Errorf("rows %d to %d and columns %d to %d are not cells of a table of %d by %d", b.Row0+1, b.Row1+1, b.Col0+1, b.Col1+1, g.Rows(), g.Columns())
	}
	return nil
}

// Change is what is done to every cell of a block.
type Change struct {
	Set   bool
	Add   float64
	Scale float64 // 1 leaves the size
}

// ParseChange reads a change as it is typed: a number sets, "+2" and "−2" add,
// "×1.1" scales, and "+3 %" scales by a share. A negative number is set with
// "=": "=-5".
func ParseChange(text string) (Change, error) {
	t := strings.TrimSpace(strings.NewReplacer("−", "-", "\u00a0", " ", "\u202f", "").Replace(text))
	fail := func() (Change, error) {
		return Change{}, fmt.Errorf("%q is no change; 90 sets, +2 adds, +3 %% or ×1.03 scales, =-5 sets below zero", text)
	}
	if t == "" {
		return fail()
	}
	sign, rest := t[0], strings.TrimSpace(t[1:])
	if after, ok := strings.CutPrefix(t, "×"); ok {
		sign, rest = '*', strings.TrimSpace(after)
	}
	share := strings.HasSuffix(rest, "%")
	rest = strings.TrimSpace(strings.TrimSuffix(rest, "%"))
	number := func(s string) (float64, bool) {
		v, err := strconv.ParseFloat(s, 64)
		return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
	}
	switch sign {
	case '+', '-':
		v, ok := number(rest)
		if !ok || rest[0] == '+' || rest[0] == '-' {
			return fail()
		}
		if sign == '-' {
			v = -v
		}
		if share {
			return Change{Scale: 1 + v/100}, nil
		}
		return Change{Add: v, Scale: 1}, nil
	case '*':
		v, ok := number(rest)
		if !ok || share {
			return fail()
		}
		return Change{Scale: v}, nil
	case '=':
		v, ok := number(rest)
		if !ok || share {
			return fail()
		}
		return Change{Set: true, Add: v}, nil
	}
	v, ok := number(t)
	if !ok {
		return fail()
	}
	return Change{Set: true, Add: v}, nil
}

// Apply returns the grid with a change made to a block.
func (c Change) Apply(g *Grid, b Block) (Grid, error) {
	if err := b.Check(g); err != nil {
		return Grid{}, err
	}
	out := g.Clone()
	for r := b.Row0; r <= b.Row1; r++ {
		for k := b.Col0; k <= b.Col1; k++ {
			z := &out.Z[out.Cell(r, k)]
			if c.Set {
				*z = c.Add
			} else {
				*z = *z*c.Scale + c.Add
			}
		}
	}
	return out, nil
}
