package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/figure"
	"fettle/internal/table"
)

// curve is a table of one law: a value and its standard deviation at each cell,
// in the table's unit.
type curve struct {
	name, title, quantity, unit string
	x, y                        table.Axis
	by                          string
	decimals                    int
	cell                        func(x, y float64) (value, sd float64, err error)
	basis                       string
	leaves                      []*figure.Input
}

func (c curve) make() (Map, error) {
	m := Map{Name: c.name, Title: c.title, By: c.by, Basis: c.basis}
	unit := c.unit
	if unit == "" {
		unit = "1"
	}
	m.Grid = table.New(c.quantity, unit, c.x, c.y)
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	round := math.Pow(10, float64(c.decimals))
	for i, x := range c.x.At {
		ys := c.y.At
		if len(ys) == 0 {
			ys = []float64{0}
		}
		for j, y := range ys {
			v, sd, err := c.cell(x, y)
			if err != nil {
				return m, err
			}
			k := m.Grid.Cell(i, j)
			m.Grid.Z[k], m.Grid.Spread[k] = math.Round(v*round)/round, sd
		}
	}
	low, high := ends(m.Grid.Spread)
	shown := c.unit
	if shown != "" && shown != "°" {
		shown = "\u00a0" + shown
	}
	m.Uncertainty = bounds(low, high, c.decimals, shown) + ", 95 times in 100, from the spread of the law and of its inputs"
	if high == 0 {
		m.Uncertainty = "a choice: it has no spread"
	}
	m.finish(c.leaves...)
	return m, nil
}

// makeAll makes every curve; one that can't be made is named by its error.
func makeAll(cs []curve) (out []Map, bad []error) {
	for _, c := range cs {
		m, err := c.make()
		if err != nil {
			bad = append(bad, fmt.Errorf("%s: %w", c.name, err))
			continue
		}
		out = append(out, m)
	}
	return out, bad
}

// celsius is the zero of the tables' temperatures, K.
const celsius = 273.15

// coolantAxis goes from the coldest start to an engine that boils.
func coolantAxis(name string) table.Axis {
	a := table.Axis{Name: name, Unit: "°C"}
	for t := -30.0; t <= 120; t += 10 {
		a.At = append(a.At, t)
	}
	return a
}

// law is a table of one law over temperature, its spread a share of what the
// law adds to base.
func law(name, title, quantity, unit, by string, decimals int, base, share float64, of func(kelvin float64) (float64, error), basis string, leaves ...*figure.Input) curve {
	return curve{
		name: name, title: title, quantity: quantity, unit: unit, x: coolantAxis("coolant temperature"), by: by, decimals: decimals, basis: basis, leaves: leaves,
		cell: func(t, _ float64) (float64, float64, error) {
			v, err := of(t + celsius)
			return v, share * math.Abs(v-base), err
		},
	}
}
