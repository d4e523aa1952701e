package calibrate

import (
	"fmt"

	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/quantity"
)

// CellID names a cell of a table, rows and columns counted from 1.
func CellID(name string, row, column int) figure.ID {
	return figure.ID(fmt.Sprintf("maps/%s/%d/%d", name, row+1, column+1))
}

// Unit is the unit that a table's cells are shown in; empty for a ratio.
func (m *Map) Unit() string {
	if m.Grid.Unit == "1" {
		return ""
	}
	return m.Grid.Unit
}

// kinds are what the units of the cells measure.
var kinds = map[string]quantity.Kind{
	"": quantity.Ratio, "%": quantity.Ratio, "°": quantity.Angle, "ms": quantity.Time, "s": quantity.Time,
	"rpm": quantity.RotationalSpeed, "kPa": quantity.AbsolutePressure, "g/s": quantity.MassFlow,
	"µs": quantity.Time, "°C": quantity.Temperature, "kHz": quantity.Frequency,
}

// Account records every cell with the formula and the inputs it came from.
func Account(l *figure.Ledger, maps []Map) error {
	for i := range maps {
		if err := AccountHeld(l, Held{maps[i], maps[i].Grid}); err != nil {
			return err
		}
	}
	return nil
}

// AccountHeld records every cell of a table as it stands.
func AccountHeld(l *figure.Ledger, h Held) error {
	if l == nil {
		return nil
	}
	for k := range h.Grid.Z {
		if _, err := h.put(l, k); err != nil {
			return err
		}
	}
	return nil
}

// put records a cell: by the formula that fills it, or, where the file holds
// another figure, as the file's own.
func (h *Held) put(l *figure.Ledger, k int) (figure.ID, error) {
	g, m := &h.Grid, &h.Map
	id, unit := CellID(m.Name, k/g.Columns(), k%g.Columns()), m.Unit()
	by, ok := formula.ByID(m.By)
	if !ok {
		return id, fmt.Errorf("table %q: no formula %q is registered", m.Name, m.By)
	}
	si, err := quantity.ToSI(g.Z[k], unit, kinds[unit])
	if err != nil {
		return id, fmt.Errorf("table %q: %w", m.Name, err)
	}
	if m.Grid.X.Equal(g.X) && m.Grid.Y.Equal(g.Y) && m.Grid.Z[k] == g.Z[k] {
		for _, in := range m.leaves {
			l.Leaf(in)
		}
		l.Put(id, by, si, unit, m.Rests...)
		return id, nil
	}
	in := &figure.Input{ID: id, SI: si, Unit: unit, Source: "maps/" + m.Name + ".csv, which is not what is computed now", Origin: figure.Stated}
	in.Seal()
	return l.Leaf(in), nil
}
