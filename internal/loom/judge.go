package loom

import (
	"fmt"
	"math"
	"slices"

	"fettle/internal/catalogue"
	"fettle/internal/fuse"
)

// judge records what was asked of a wire and how the size it has answers.
func (p *planner) judge(w *Wire, lies []Lie) {
	at, ampacity := p.held.worst(w.Cable, w.Insulation, lies)
	w.Lie, w.AmpacityA = *at, ampacity
	if t, err := at.Place().TempK(conductor(w.Cable), w.HeatA); err == nil && !w.Brief {
		w.TempK = t
	}
	g := &w.Guard
	v := p.opens(w, w.Cable, at, ampacity)
	g.Holds = v.ok && p.carries(w, ampacity)
	if !g.Holds {
		g.FailA = v.failA
		if g.FailA == 0 {
			g.FailA = ampacity
		}
	}
	if g.Fuse != "" && g.ShortA > 0 {
		g.damage = p.held.damageOf(p.plane(w, w.Cable, at).damageKey)
		g.MarginRatio = g.margin()
	}
	if w.Guard.SureA() <= ampacity && g.LimitA > 0 {
		w.FuseA = 0 // the device lets no more through than the wire carries
	}
	w.Asks = p.asks(w, lies, at)
	w.Why = governing(w)
}

// WouldHold reports whether a conductor in a wire's place stood a current and
// what the wire's guard lets through.
func (w *Wire) WouldHold(c *catalogue.Cable, currentA float64) bool {
	h := newHolding()
	k := ask(c, w.Insulation, &w.Lie)
	a := h.ampacityA(k)
	if !w.Brief && a < currentA {
		return false
	}
	g := &w.Guard
	if g.Declared || g.Fuse == "" || !(g.ShortA > 0) {
		return g.Declared || g.ShortA <= a
	}
	if w.Brief {
		currentA = 0
	}
	return w.Guard.SureA() <= a && h.overPlane(planeKey{damageKey{k, startK(k, currentA), w.Insulation.ShortK.SI}, g.RatingA, g.ShortA}).ok
}

// sweepPoints are how many fault currents a wire is tried at.
const sweepPoints = 40

// SweepA returns the fault currents a wire is tried at.
//
//	I_k = I_n·(I_short/I_n)^(k/39),  k = 0 … 39
//
// Valid: a short above the rating; else the one current of the short.
// Accuracy: steps of 10 to 25 %; the proof of a size goes in steps of 4 %.
// Source: definition.
// Errors: none
func (g *Guard) SweepA() []float64 {
	if g.Fuse == "" || !(g.ShortA > g.RatingA) {
		return []float64{g.ShortA}
	}
	out := make([]float64, sweepPoints)
	for k := range out {
		out[k] = g.RatingA * math.Pow(g.ShortA/g.RatingA, float64(k)/(sweepPoints-1))
	}
	return out
}

// Against returns how long the fuse may take at a current and how long the wire
// stands it; infinite where one of them does so for good.
func (g *Guard) Against(currentA float64) (fuseS, wireS float64) {
	fuseS, wireS = math.Inf(1), math.Inf(1)
	if g.Fuse != "" {
		if t, opens, err := fuse.Of(g.RatingA).OpenS(g.RatingA, currentA, true); err == nil && opens {
			fuseS = t
		}
	}
	if g.damage != nil {
		wireS = g.damage.WithstandS(currentA)
	}
	return fuseS, wireS
}

// margin is the least ratio of the two over the sweep, where both end.
func (g *Guard) margin() float64 {
	least := math.Inf(1)
	for _, i := range g.SweepA() {
		if f, w := g.Against(i); !math.IsInf(w, 1) {
			least = math.Min(least, w/f) // 0 where the fuse need not open
		}
	}
	return least
}

// asks lists all that is asked of a wire, with the size that each would want.
func (p *planner) asks(w *Wire, lies []Lie, at *Lie) []Ask {
	least := leastAreaM2(w.Kind)
	out := []Ask{
		{Name: "handling", SI: w.Cable.AreaM2.SI, LimitSI: least, Unit: "mm²", AtLeast: true, Holds: handles(w, w.Cable), Why: "smallest that stands handling: " + sizeWord(least)},
		{
			Name: "drop", SI: p.dropV(w, w.Cable), LimitSI: w.LimitV, Unit: "V",
			Why: fmt.Sprintf("loses %.2f V at %.1f A over %.1f m; its class allows %.2f V", p.dropV(w, w.Cable), w.DesignA, w.LengthM, w.LimitV),
		},
	}
	out[1].Holds = out[1].SI <= out[1].LimitSI
	out[0].index = p.first(func(c *catalogue.Cable) bool { return handles(w, c) })
	out[1].index = p.first(func(c *catalogue.Cable) bool { return p.dropV(w, c) <= w.LimitV })
	if !w.Brief {
		out = append(out, Ask{
			Name: "heat", SI: w.TempK, LimitSI: w.Insulation.LimitK.SI, Unit: "°C", Holds: p.heats(w, w.AmpacityA),
			Why:   fmt.Sprintf("%.0f °C at %.1f A %s; its insulation stands %.0f °C", w.TempK-273.15, w.HeatA, lieWords(at), w.Insulation.LimitK.SI-273.15),
			index: p.first(func(c *catalogue.Cable) bool { _, a := p.held.worst(c, w.Insulation, lies); return p.heats(w, a) }),
		})
	}
	out = append(out, p.guardAsks(w, lies)...)
	for i := range out {
		if out[i].index < len(p.d.Cat.Cables.Sizes) {
			out[i].Size = sizeWord(p.d.Cat.Cables.Sizes[out[i].index].Value.AreaM2.SI)
		}
	}
	return out
}

func (p *planner) guardAsks(w *Wire, lies []Lie) []Ask {
	g := &w.Guard
	if g.Declared || !(g.ShortA > 0) {
		return nil
	}
	carry := Ask{
		Name: "fuse for ever", SI: w.AmpacityA, LimitSI: w.Guard.SureA(), Unit: "A", AtLeast: true, Holds: p.carries(w, w.AmpacityA),
		Why:   fmt.Sprintf("carries %.1f A for ever %s; %s may let %.1f A through", w.AmpacityA, lieWords(&w.Lie), g.By, w.Guard.SureA()),
		index: p.first(func(c *catalogue.Cable) bool { _, a := p.held.worst(c, w.Insulation, lies); return p.carries(w, a) }),
	}
	if g.Fuse == "" || g.ShortA <= fuse.SureRatio*g.RatingA || math.IsInf(g.MarginRatio, 1) {
		return []Ask{carry}
	}
	return []Ask{carry, {
		Name: "fuse in a fault", SI: g.MarginRatio, LimitSI: 1, AtLeast: true, Holds: p.opens(w, w.Cable, &w.Lie, w.AmpacityA).ok,
		Why: fmt.Sprintf("stands every fault up to %.0f A at least %.1f times as long as %s takes", g.ShortA, g.MarginRatio, g.By),
		index: p.first(func(c *catalogue.Cable) bool {
			at, a := p.held.worst(c, w.Insulation, lies)
			return p.opens(w, c, at, a).ok
		}),
	}}
}

// lieWords says where a wire lies.
func lieWords(l *Lie) string {
	if l.Wires < 2 {
		return fmt.Sprintf("alone at %.0f °C", l.HotK.SI-273.15)
	}
	return fmt.Sprintf("among %d wires, %d of them carrying, at %.0f °C", l.Wires, l.Carrying, l.HotK.SI-273.15)
}

// first is the index of the smallest standard size that passes; their number when
// none does.
func (p *planner) first(pass func(*catalogue.Cable) bool) int {
	sizes := p.d.Cat.Cables.Sizes
	for i := range sizes {
		if pass(&sizes[i].Value) {
			return i
		}
	}
	return len(sizes)
}

// governing names what made a wire the size it is: of what asks for the largest
// size the first.
func governing(w *Wire) string {
	if w.Fixed {
		return "fixed in the file"
	}
	most := slices.MaxFunc(w.Asks, func(a, b Ask) int { return a.index - b.index })
	return most.Why
}

// rising sorts numbers, drops those above a limit and what is twice but for the
// rounding.
func rising(list []float64, most float64) []float64 {
	slices.Sort(list)
	list = slices.CompactFunc(list, func(a, b float64) bool { return b-a <= 1e-9*b })
	for i, v := range list {
		if v > most {
			return list[:i]
		}
	}
	return list
}
