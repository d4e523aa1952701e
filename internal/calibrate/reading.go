package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/quantity"
	"fettle/internal/table"
)

// read reads a table at the moment's values; y is empty for a table of one axis.
// The value is in the table's unit.
func (p *pulse) read(name, x, y string) (float64, Factor) {
	at := func(key string) float64 {
		for _, r := range reads {
			if r.key == key {
				v, _ := quantity.FromSI(*r.of(&p.Present), r.Unit)
				return v
			}
		}
		return 0
	}
	from := []figure.ID{p.leaf[x]}
	if y != "" {
		from = append(from, p.leaf[y])
	}
	return p.readAt(name, at(x), at(y), from...)
}

// readAt reads a table at a place, held at the axes' ends as a controller does,
// and records the value with the cells it came from.
func (p *pulse) readAt(name string, x, y float64, from ...figure.ID) (float64, Factor) {
	f := Factor{Name: name, Table: name}
	h, ok := p.held[name]
	if !ok {
		p.fail(fmt.Errorf("there is no table %q", name))
		return 1, f
	}
	g := &h.Grid
	heldX, heldY := end(g.X, x), end(g.Y, y)
	if heldX != x {
		p.Notes = append(p.Notes, beyond(h.Map.Title, g.X, heldX))
	}
	if heldY != y && len(g.Y.At) > 0 {
		p.Notes = append(p.Notes, beyond(h.Map.Title, g.Y, heldY))
	}
	w, err := g.Weights(heldX, heldY)
	if err != nil {
		p.fail(fmt.Errorf("table %q: %w", name, err))
		return 1, f
	}
	cells, share := w.Cells()
	best := 0
	for i, k := range cells {
		if share[i] > share[best] {
			best = i
		}
		id, err := h.put(p.l, k)
		p.fail(err)
		from = append(from, id)
	}
	f.Row, f.Column = cells[best]/g.Columns(), cells[best]%g.Columns()
	unit := h.Map.Unit()
	value := w.Of(g)
	si, err := quantity.ToSI(value, unit, kinds[unit])
	p.fail(err)
	by, _ := formula.ByID("table.Grid.At")
	f.ID = p.id("table " + name + "/Value")
	p.l.Put(f.ID, by, si, unit, from...)
	if sd := w.SpreadOf(&h.Map.Grid); sd > 0 && h.Map.Grid.X.Equal(g.X) && h.Map.Grid.Y.Equal(g.Y) {
		up, err := quantity.ToSI(value+sd, unit, kinds[unit])
		p.fail(err)
		f.Spread = p.id("table " + name + "/Spread")
		p.l.Put(f.Spread, by, up-si, unit, from...)
	}
	return value, f
}

// end holds a place within an axis.
func end(a table.Axis, v float64) float64 {
	if len(a.At) == 0 {
		return v
	}
	return math.Max(a.At[0], math.Min(a.At[len(a.At)-1], v))
}

func beyond(title string, a table.Axis, held float64) string {
	return fmt.Sprintf("%s is read at %g %s, where its axis ends.", title, held, a.Unit)
}
