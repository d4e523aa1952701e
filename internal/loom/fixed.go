package loom

import (
	"math"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

// unmet reports what the user fixed and nothing in the vehicle has: a wire that
// is not made, a pin that the controller lacks or that can't do what is due.
func (p *planner) unmet() {
	if len(p.bad) > 0 {
		return
	}
	p.unmetWires()
	p.unmetPins()
	p.unmetSplices()
}

func (p *planner) unmetSplices() {
	var joins []string
	for _, s := range p.loom.Splices {
		joins = append(joins, s.Joins)
	}
	for _, v := range p.d.File.Loom.Splices {
		if d, ok := buildfile.CheckRef(buildfile.Ref{Name: v.Name, Pos: v.Pos}, "splice", joins); !ok {
			p.bad = append(p.bad, d)
		}
	}
	p.unreached()
}

// unreached reports splices that the user puts where no route leads.
func (p *planner) unreached() {
	for _, v := range p.d.File.Loom.Splices {
		if math.IsInf(p.paths.lengthM(p.box, v.Value.At.Name), 1) {
			p.bad = append(p.bad, diag.Errorf(v.Value.At.Pos, "route-gap", "no route leads from %q to %q, where the splice %q is to sit", p.box, v.Value.At.Name, v.Name).
				WithHint("add a route with its length under routes, or put it elsewhere"))
		}
	}
}

func (p *planner) unmetWires() {
	names := make([]string, 0, len(p.loom.Wires))
	for i := range p.loom.Wires {
		names = append(names, p.loom.Wires[i].Name)
	}
	for _, s := range p.loom.Short {
		names = append(names, s.End) // the rules say that it has no pin
	}
	for _, v := range p.d.File.Loom.Wires {
		p.know(v.Name, "wire", v.Pos, names)
	}
}

func (p *planner) unmetPins() {
	var ends []string
	for _, q := range p.loom.Pins {
		ends = append(ends, q.Device)
	}
	for _, s := range p.loom.Short {
		ends = append(ends, s.End)
	}
	taken := map[string]diag.Pos{}
	for _, v := range p.d.File.Loom.Pins {
		pos := p.d.Place("loom", "pins", v.Name, "pin")
		if first, twice := taken[v.Value.Pin]; twice {
			p.bad = append(p.bad, diag.Errorf(pos, "pin-twice", "pin %s is given to a second wire, %q", v.Value.Pin, v.Name).
				WithRelated(first, "the first one").WithHint("give one of them another pin"))
			continue
		}
		taken[v.Value.Pin] = pos
		if p.know(v.Name, "wire to the controller", v.Pos, ends) {
			p.checkPin(v.Name, v.Value.Pin, pos)
		}
	}
}

// know reports whether a name that the user wrote is one of those known; if not
// it says so.
func (p *planner) know(name, what string, pos diag.Pos, known []string) bool {
	d, ok := buildfile.CheckRef(buildfile.Ref{Name: name, Pos: pos}, what, known)
	if !ok {
		if len(known) > 0 && !strings.HasPrefix(d.Hint.String(), "did you mean") {
			d = d.WithHint("name the device and the terminal at its end, as %q", known[0])
		}
		p.bad = append(p.bad, d)
	}
	return ok
}

// checkPin reports a pin that the controller lacks, or that can't do what the
// wire asks of it.
func (p *planner) checkPin(end, pin string, pos diag.Pos) {
	ways := p.ways()
	names := make([]string, len(ways))
	for i, w := range ways {
		names[i] = w.name
	}
	i := slices.Index(names, pin)
	if i < 0 {
		d, _ := buildfile.CheckRef(buildfile.Ref{Name: pin, Pos: pos}, "pin of "+p.ctl.Part.Name, names)
		p.bad = append(p.bad, d.WithHint("write connector and way, as %s", names[0]))
		return
	}
	for _, s := range p.loom.Short {
		if s.End == end && !slices.Contains(ways[i].bank.Can, s.Needs) {
			p.bad = append(p.bad, diag.Errorf(pos, "pin-unfit", "pin %s can't serve %q: it can %s, %s is due", pin, end, strings.Join(ways[i].bank.Can, ", "), s.Needs).
				WithHint("take a pin that can, or leave the choice to fettle"))
		}
	}
}
