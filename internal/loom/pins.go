package loom

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// way is one pin of a control unit.
type way struct {
	name string // "A3" on the engine controller, "gearbox unit A3" elsewhere
	bank *catalogue.PinBank
	unit design.Item
}

// Ways lists every pin of a controller with the bank it belongs to. A run that
// can't be read is an error at its place.
func Ways(c *catalogue.Controller) (names []string, banks []*catalogue.PinBank, ds []diag.Diagnostic) {
	for i := range c.Pins {
		b := &c.Pins[i]
		lo, hi, found := strings.Cut(b.Ways, "-")
		if !found {
			hi = lo
		}
		first, err1 := strconv.Atoi(strings.TrimSpace(lo))
		last, err2 := strconv.Atoi(strings.TrimSpace(hi))
		if err1 != nil || err2 != nil || first < 1 || last < first || last > 200 {
			ds = append(ds, diag.Errorf(b.Pos, "bad-ways", "ways %q is neither a number nor a run such as 1-5", b.Ways).WithHint("write the first and the last way"))
			continue
		}
		for w := first; w <= last; w++ {
			names, banks = append(names, fmt.Sprintf("%s%d", b.Connector, w)), append(banks, b)
		}
	}
	return names, banks, ds
}

// ways lists the pins of every control unit, the engine controller's first, once.
func (p *planner) ways() []way {
	if p.allWays != nil {
		return p.allWays
	}
	for _, unit := range Units(p.d) {
		names, banks, ds := Ways(unit.Part.Controller)
		p.bad = append(p.bad, ds...)
		for i := range names {
			p.allWays = append(p.allWays, way{unitPrefix(unit) + names[i], banks[i], unit})
		}
	}
	return p.allWays
}

// Units are the control units with pins, the engine controller first.
func Units(d *design.Design) []design.Item {
	out := []design.Item{d.One("controller")}
	for _, it := range d.Devices {
		if it.Part.Kind != "controller" && it.Part.Controller != nil {
			out = append(out, it)
		}
	}
	return out
}

func unitPrefix(it design.Item) string {
	if it.Part.Kind == "controller" {
		return ""
	}
	return it.Name + " "
}

// Inside is the node of a control unit's power ground, inside it.
func Inside(unit design.Item) string {
	if unit.Part.Kind == "controller" {
		return NodeInside
	}
	return unit.Name + " zero"
}

// take puts the pin that was assigned to a terminal into use.
func (p *planner) take(end, needs string, pos diag.Pos) (Pin, bool) {
	ways := p.ways()
	if j, ok := p.wayFor[end]; ok && j >= 0 {
		w := ways[j]
		pin := Pin{Pin: w.name, Can: needs, Device: end, Bank: w.bank, Fixed: p.pinFix(end) != "", Node: PinNode(w.name), Unit: w.unit.Name, At: w.unit.At, Inside: Inside(w.unit)}
		pin.Why = p.pinReasons(end, j)
		p.loom.Pins = append(p.loom.Pins, pin)
		return pin, true
	}
	have := 0
	for _, w := range ways {
		if slices.Contains(w.bank.Can, needs) {
			have++
		}
	}
	p.loom.Short = append(p.loom.Short, Shortage{End: end, Needs: needs, Have: have, Pos: pos})
	return Pin{}, false
}

// PinNode is the electrical node of a controller pin.
func PinNode(name string) string { return "pin " + name }

func (p *planner) pinFix(end string) string {
	for _, v := range p.d.File.Loom.Pins {
		if v.Name == end {
			return v.Value.Pin
		}
	}
	return ""
}

// shared reports needs that many devices meet on one pin through a splice.
func shared(needs string) bool { return strings.HasPrefix(needs, "can ") }

// controllerPins gives every input, output and sensor supply its pin.
func (p *planner) controllerPins() {
	if len(p.bad) > 0 {
		return
	}
	for _, g := range p.sensorSupplies() {
		p.sensorSupply(g)
	}
	joined := map[string][]endAt{}
	var order []string
	for _, e := range p.ends(func(t *catalogue.Terminal) bool { return t.Role == "output" || t.Role == "input" }) {
		if shared(e.t.Needs) {
			if joined[e.t.Needs] == nil {
				order = append(order, e.t.Needs)
			}
			joined[e.t.Needs] = append(joined[e.t.Needs], e)
			continue
		}
		switch {
		case e.it.Part.Kind == "controller" || e.t.Needs == "" || e.t.Needs == Terminal61:
			continue
		case p.excited(e):
			p.excitation(e)
			continue
		}
		pin, ok := p.take(e.end(), e.t.Needs, e.it.Pos)
		if !ok {
			continue
		}
		kind := Signal
		if e.t.Role == "output" {
			kind = Output
		}
		p.add(Wire{Name: e.end(), Kind: kind, Tails: 2, From: End{e.end(), e.it.At}, To: End{pin.Node, pin.At}, Served: []string{e.end()}})
	}
	for _, needs := range order {
		p.star(needs, needs, joined[needs])
	}
}

// star joins ends in a splice and takes the splice to one controller pin.
func (p *planner) star(name, needs string, ends []endAt) {
	pin, ok := p.take(name, needs, ends[0].it.Pos)
	if !ok {
		return
	}
	place := busiest(ends)
	node := p.splice(name, place)
	var served []string
	for _, e := range ends {
		p.add(Wire{Name: e.end(), Kind: Signal, Tails: 1, From: End{e.end(), e.it.At}, To: End{node, place}, Served: []string{e.end()}})
		served = append(served, e.end())
	}
	p.add(Wire{Name: name, Kind: Signal, Tails: 1, From: End{node, place}, To: End{pin.Node, pin.At}, Served: served})
}
