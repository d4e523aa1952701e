package loom

import (
	"slices"

	"fettle/internal/catalogue"
)

// Strand is one bundle of a branch.
type Strand struct {
	Wires     []int // indices in Loom.Wires, rising
	DiameterM float64
}

// Loud reports the wire of an injector or of a coil, by its index: its driver's,
// its return, and its supply from the fuse on.
func (l *Loom) Loud(wire int) bool { return l.loud[wire] }

// Quiet reports the wire of a crank, cam or knock sensor, its screen included.
func (l *Loom) Quiet(wire int) bool { return l.quiet[wire] }

// part tells the wires of injectors and coils, which pulse, from those of crank,
// cam and knock, which are read by their millivolts or their edges.
func (p *planner) part() {
	l := p.loom
	l.loud, l.quiet = make([]bool, len(l.Wires)), make([]bool, len(l.Wires))
	tells := telling(p.d, "crank angle", "cam angle", "distributor angle", "knock")
	p.loud = make([]bool, len(p.d.File.Routes))
	for i := range l.Wires {
		w := &l.Wires[i]
		switch w.Kind {
		case Supply, Return, Output:
			l.loud[i] = (w.Kind != Supply || w.Feed != "") && slices.ContainsFunc(w.Served, p.pulses)
		case Signal:
			l.quiet[i] = len(w.Served) > 0 && !slices.ContainsFunc(w.Served, func(end string) bool {
				k, ok := p.endAt[end]
				return !ok || !tells[p.d.Devices[k].Name]
			})
		case Screen:
			g, ok := l.Tree.GroupOf(i)
			l.quiet[i] = ok && tells[g.Name]
		case Post, Strap:
		}
		for _, r := range w.Routes {
			p.loud[r] = p.loud[r] || l.loud[i]
		}
	}
	p.quiet = l.quiet
}

// pulses reports a terminal of an injector or of a coil.
func (p *planner) pulses(end string) bool {
	k, ok := p.endAt[end]
	return ok && Pulses(p.d.Devices[k].Part)
}

// Pulses reports an injector or a coil.
func Pulses(part *catalogue.Part) bool {
	return slices.ContainsFunc(part.Loads, func(l catalogue.Load) bool { return l.Model == "injector" || l.Model == "coil" })
}

// strand is the bundle of a route that a wire lies in: 1 for a quiet wire where
// loud ones lie too, else 0.
func (p *planner) strand(wire, route int) int {
	if p.quiet[wire] && p.loud[route] {
		return 1
	}
	return 0
}

// NeedM returns the width that two bundles take which keep apart.
//
//	w = D₁ + a + D₂
//
// where D₁ and D₂ are the diameters of the bundles and a what lies between them.
//
// Valid: bundles side by side.
// Accuracy: that of the diameters.
// Source: geometry.
// Errors: none
func NeedM(firstM, apartM, secondM float64) float64 { return firstM + apartM + secondM }

// strands parts a branch's wires into the bundles they are laid in.
func (p *planner) strands(b *Branch) {
	if len(b.Wires) == 0 {
		return
	}
	var in [2][]int
	for _, i := range b.Wires {
		k := p.strand(i, b.Route)
		in[k] = append(in[k], i)
	}
	for _, wires := range in {
		if len(wires) > 0 {
			b.Strands = append(b.Strands, Strand{wires, p.across(wires)})
		}
	}
	b.DiameterM = b.Strands[0].DiameterM
	if len(b.Strands) > 1 {
		b.NeedM = NeedM(b.DiameterM, p.d.Cat.Scheme.ApartM.SI, b.Strands[1].DiameterM)
	}
}
