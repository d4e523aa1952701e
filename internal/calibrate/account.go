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
	if l == nil {
		return nil
	}
	for i := range maps {
		m := &maps[i]
		by, ok := formula.ByID(m.By)
		if !ok {
			return fmt.Errorf("table %q: no formula %q is registered", m.Name, m.By)
		}
		for _, in := range m.leaves {
			l.Leaf(in)
		}
		for r := range m.Grid.Rows() {
			for c := range m.Grid.Columns() {
				si, err := quantity.ToSI(m.Grid.Z[m.Grid.Cell(r, c)], m.Unit(), kinds[m.Unit()])
				if err != nil {
					return fmt.Errorf("table %q: %w", m.Name, err)
				}
				l.Put(CellID(m.Name, r, c), by, si, m.Unit(), m.Rests...)
			}
		}
	}
	return nil
}
