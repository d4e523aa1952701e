package vehicle

import (
	"fettle/internal/dcnet"
	"fettle/internal/figure"
)

// Circuit takes the elements of a network one by one.
type Circuit interface {
	Wire(a, b dcnet.NodeID, ohm float64) dcnet.ElementID
	Switch(a, b dcnet.NodeID, ohm float64, closed bool) dcnet.ElementID
	Battery(plus, minus dcnet.NodeID, openCircuitV, ohm float64) dcnet.ElementID
	Alternator(plus, minus dcnet.NodeID, setV, slopeOhm, maxA float64) dcnet.ElementID
	Load(a, b dcnet.NodeID, m dcnet.Model) dcnet.ElementID
}

// Tell tells a state's network to a circuit, such as one that writes it for a
// simulator. Wires, fuses, contacts and grounds come as resistances, plain loads
// by their law; what the balance drives, pump, injectors, coils and starter, with
// the current it settled at. What is off is a wire of offOhm, which holds the
// potential of what only it joins.
func (s *State) Tell(to Circuit, offOhm float64) error {
	v := s.v
	w, d := v.worker(), figure.Draw{}
	parts, err := v.parts(d, w.net)
	if err != nil {
		return err
	}
	if err := w.setSources(d, s.Name, parts); err != nil {
		return err
	}
	for i := range v.links {
		l := &v.links[i]
		a, b := v.net.Ends(l.id)
		ohm := v.linkOhm(v.linkBase(d, l), v.airK(d, s.Name), s.Name)
		if l.on == nil {
			to.Wire(a, b, ohm)
			continue
		}
		to.Switch(a, b, ohm, v.closed(l, s.Name))
	}
	plus, minus := v.net.Ends(v.battery)
	ohm := parts.Battery.Ohm
	if s.Point.BatteryA < 0 {
		ohm = parts.Battery.ChargeOhm
	}
	to.Battery(plus, minus, parts.Battery.OpenV, ohm)
	plus, minus = v.net.Ends(v.alt)
	to.Alternator(plus, minus, parts.Charger.SetV, parts.Charger.SlopeOhm, s.Point.ChargerMostA)
	for _, f := range v.fives {
		plus, minus = v.net.Ends(f.id)
		volts := 0.0
		if s.Live {
			volts = v.k.fiveV.SI
		}
		to.Battery(plus, minus, volts, v.k.fiveOhm.SI)
	}
	for _, c := range v.consumers {
		a, b := v.net.Ends(c.id)
		if m := s.draws(c); m != nil && m != (dcnet.Current{}) {
			to.Load(a, b, m)
		} else {
			to.Wire(a, b, offOhm)
		}
	}
	return nil
}

// leastDropV stands for no drop-out in a load whose current is known.
const leastDropV = 1e-3

// draws is what a consumer draws in the state, nil for nothing.
func (s *State) draws(c consumer) dcnet.Model {
	if c.load != nil {
		switch c.load.Model {
		case "pump", "injector", "coil", "starter":
			if amps, _ := s.ConsumerA(c.name); amps > 0 {
				return dcnet.Current{CurrentA: amps, DropOutV: leastDropV}
			}
			return nil
		}
	}
	return s.v.load(figure.Draw{}, c, s.Name, s.Live)
}
