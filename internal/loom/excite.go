package loom

import (
	"slices"

	"fettle/internal/catalogue"
	"fettle/internal/design"
)

// Terminal61 is what a charge lamp, or a resistor in its place, asks for: the
// terminal of DIN 72552 at which an alternator is excited.
const Terminal61 = "terminal 61"

// Exciters are the devices that feed the alternator's terminal 61 until it
// charges.
func Exciters(d *design.Design) []design.Item {
	var out []design.Item
	for _, it := range d.Devices {
		if exciterEnd(it.Part) != "" {
			out = append(out, it)
		}
	}
	return out
}

// exciterEnd is the terminal of a part that goes to terminal 61, "" when none does.
func exciterEnd(p *catalogue.Part) string {
	i := slices.IndexFunc(p.Terminals, func(t named) bool { return t.Value.Needs == Terminal61 })
	if i < 0 {
		return ""
	}
	return p.Terminals[i].Name
}

// excited reports the alternator's terminal 61 where something excites it there.
func (p *planner) excited(e endAt) bool {
	return e.it.Part.Kind == "alternator" && e.name == "61" && len(p.exciters()) > 0
}

// exciters are the ends that go to terminal 61.
func (p *planner) exciters() []endAt {
	if p.d.One("alternator").Part.Terminal("61") == nil {
		return nil
	}
	return p.ends(func(t *catalogue.Terminal) bool { return t.Needs == Terminal61 })
}

// excitation joins the alternator's terminal 61 with what excites it, in a splice,
// and the splice with the controller's input that reads it.
func (p *planner) excitation(alternator endAt) {
	ends := append([]endAt{alternator}, p.exciters()...)
	place := busiest(ends)
	node := p.splice(Terminal61, place)
	for _, e := range ends {
		p.add(Wire{Name: e.end(), Kind: Signal, Tails: 1, From: End{e.end(), e.it.At}, To: End{node, place}, Served: []string{e.end()}})
	}
	if pin, ok := p.take(alternator.end(), alternator.t.Needs, alternator.it.Pos); ok {
		p.add(Wire{Name: Terminal61, Kind: Signal, Tails: 1, From: End{node, place}, To: End{pin.Node, pin.At}, Served: []string{alternator.end()}})
	}
}
