package loom

import (
	"math"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/wire"
)

// Lie is where a wire lies: the branch of the harness that leaves it the least
// room to shed its heat.
type Lie struct {
	Between string // "fuse box – hatch", or the place when it goes nowhere else
	HotK    *figure.Input
	// BundleM is the bundle's diameter, OthersWPerM the heat of its other wires in
	// the state in which they make most of it; Wires of them, of which Carrying
	// then carry a current of at least 1 A.
	BundleM, OthersWPerM float64
	Wires, Carrying      int

	route int
}

// Place is the lie as the heat balance takes it.
func (l *Lie) Place() wire.Place {
	return wire.Place{AmbientK: l.HotK.SI, BundleM: l.BundleM, OthersWPerM: l.OthersWPerM}
}

// carryingA is the current from which on a wire of a bundle is counted as
// carrying.
const carryingA = 1

// branchHeat is a bundle over one route: what its wires shed together.
type branchHeat struct {
	between  string
	hotK     *figure.Input
	bundleM  float64
	heat     perState // W/m
	wires    int
	carrying [len(design.StateNames)]int
}

// bundles sums up the heat of every route's bundles, two a route: what lies in
// the second is quiet. Resistances are those of hot copper: the safe side.
func (p *planner) bundles() []branchHeat {
	out := make([]branchHeat, 2*len(p.d.File.Routes))
	in := make([][]int, len(out))
	for i := range out {
		r := &p.d.File.Routes[i/2]
		b := &out[i]
		b.between, b.hotK = r.From.Name+" – "+r.To.Name, p.hotAt(r.From.Name)
		if to := p.hotAt(r.To.Name); to.SI > b.hotK.SI {
			b.hotK = to
		}
	}
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		if apart(w) || w.Cable == nil {
			continue
		}
		for _, r := range w.Routes {
			k := 2*r + p.strand(i, r)
			b := &out[k]
			b.wires++
			in[k] = append(in[k], i)
			for s := range b.heat {
				b.heat[s] += w.heatWPerM(s)
				if w.need.square(s) >= carryingA*carryingA {
					b.carrying[s]++
				}
			}
		}
	}
	for i := range out {
		out[i].bundleM = p.across(in[i])
	}
	return out
}

// heatWPerM is what one metre of a wire sheds in a state.
func (w *Wire) heatWPerM(state int) float64 {
	if w.Brief || w.Cable == nil {
		return 0
	}
	return OthersWPerM(math.Sqrt(w.need.square(state)), wire.ResistanceOhm(1, w.Cable.OhmPerM.SI, w.Insulation.LimitK.SI))
}

// othersStepWPerM is what the heat of a bundle's other wires is rounded up to, so
// that like wires are computed once.
const othersStepWPerM = 0.1

// lies lists where a wire lies, one a route; a wire within one place lies alone
// there.
func (p *planner) lies(w *Wire, all []branchHeat) []Lie {
	if len(w.Routes) == 0 {
		return []Lie{{Between: w.From.Place, HotK: w.HotK, Wires: 1}}
	}
	out := make([]Lie, 0, len(w.Routes))
	for _, r := range w.Routes {
		b := &all[2*r+p.strand(w.Number-1, r)]
		l := Lie{Between: b.between, HotK: b.hotK, Wires: 1, route: r}
		if !apart(w) {
			l.BundleM, l.Wires = b.bundleM, b.wires
			worst := 0
			for s := range b.heat {
				if others := b.heat[s] - w.heatWPerM(s); others > l.OthersWPerM {
					l.OthersWPerM, worst = others, s
				}
			}
			l.Carrying = b.carrying[worst]
			l.OthersWPerM = othersStepWPerM * math.Ceil(l.OthersWPerM/othersStepWPerM-1e-9)
		}
		out = append(out, l)
	}
	return out
}

// insulationRoomK is how far an insulation's limit is kept above the place a wire
// passes (decided; common practice).
const insulationRoomK = 40

// cover gives a wire the coolest insulation that leaves it room above its
// hottest place, else the hottest.
func (p *planner) cover(w *Wire) {
	all := p.d.Cat.Cables.Insulations
	for i := range all {
		w.Cover, w.Insulation = all[i].Name, &all[i].Value
		if w.Insulation.LimitK.SI >= w.HotK.SI+insulationRoomK {
			return
		}
	}
}

// conductor is a cable as the heat balance takes it.
func conductor(c *catalogue.Cable) wire.Conductor {
	return wire.Conductor{AreaM2: c.AreaM2.SI, R20OhmPerM: c.OhmPerM.SI, OverallDiameterM: c.OverallM.SI}
}
