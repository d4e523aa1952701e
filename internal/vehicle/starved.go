package vehicle

import (
	"fettle/internal/design"
	"fettle/internal/figure"
)

// Starved is a device that is switched on, has a live feed and is left with less
// than it works on: what it draws then is not what it would.
type Starved struct {
	Name    string
	Item    design.Item
	AcrossV float64
	DropOut *figure.Input
}

// deadV is the voltage below which a feed counts as switched off.
const deadV = 0.5

// Starved lists the devices that have dropped out in a state.
func (s *State) Starved() []Starved {
	var out []Starved
	for _, c := range s.v.consumers {
		if c.coil != nil || c.load.DropOutV == nil || !contains(c.load.On, s.Name) || s.v.paths[c.name].five > 0 {
			continue
		}
		if volts, ok := s.ConsumerV(c.name); ok && volts > deadV && volts < c.load.DropOutV.SI {
			out = append(out, Starved{c.name, c.item, volts, c.load.DropOutV})
		}
	}
	return out
}
