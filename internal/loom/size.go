package loom

import (
	"fmt"
	"math"

	"fettle/internal/catalogue"
	"fettle/internal/figure"
	"fettle/internal/fuse"
	"fettle/internal/wire"
)

// leastAreaM2 is the smallest wire by what it must stand in handling.
func leastAreaM2(k Kind) float64 {
	switch k {
	case Signal, Output, Screen:
		return 0.5e-6 // sensors and drivers: crimps and strain (common practice)
	case Post, Strap:
		return 6e-6
	}
	return 0.75e-6
}

// Ask is one thing that is asked of a wire's size.
type Ask struct {
	Name string // "handling", "drop", "heat", "fuse for ever", "fuse in a fault"
	// SI is that of the size it has, LimitSI what is asked: SI has to be at least
	// that with AtLeast, else at most. Unit is the one it is shown in.
	SI, LimitSI float64
	Unit        string
	AtLeast     bool
	Holds       bool
	// Size is the smallest standard size that would do for this alone; empty when
	// none does.
	Size string
	// Why says it in words.
	Why string

	index int // of Size; the number of sizes when none does
}

// passes is how often sizes are settled against the heat of their bundles, which
// they change; from the last but one on they only grow.
const passes = 6

// size gives every wire its conductor, its colour and its reason. A bundle's heat
// depends on the sizes in it, so that sizes are found in passes until none changes.
func (p *planner) size() {
	fixes := make([]*catalogue.Cable, len(p.loom.Wires))
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		w.Colour = p.colour(w)
		p.cover(w)
		p.limit(w)
	}
	p.guards() // before any has a size: the shorts of the bare battery
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		w.Cable = &p.d.Cat.Cables.Sizes[0].Value
		if fix := p.areaFix(w); fix != nil {
			fixes[i] = p.cableOf(fix)
			w.Cable, w.Size, w.Area, w.Fixed = fixes[i], sizeWord(fix.SI), fix, true
		}
	}
	least := make([]int, len(p.loom.Wires))
	for pass := range passes {
		all, changed := p.bundles(), false
		for i := range p.loom.Wires {
			w := &p.loom.Wires[i]
			lies := p.lies(w, all)
			at := p.leastSize(w, lies)
			if pass >= passes-2 {
				at = max(at, least[i])
			}
			changed = changed || at != least[i] || pass == 0
			least[i] = at
			if fixes[i] == nil {
				w.Cable = &p.d.Cat.Cables.Sizes[at].Value
				w.Size, w.Area = sizeWord(w.Cable.AreaM2.SI), w.Cable.AreaM2
			}
		}
		if !changed {
			break
		}
	}
	p.guards() // the shorts of the sizes that came out
	all := p.bundles()
	for i := range p.loom.Wires {
		p.judge(&p.loom.Wires[i], p.lies(&p.loom.Wires[i], all))
	}
}

// leastSize is the index of the smallest standard size that holds all that is
// asked of a wire; the largest when none does.
func (p *planner) leastSize(w *Wire, lies []Lie) int {
	sizes := p.d.Cat.Cables.Sizes
	for i := range sizes {
		c := &sizes[i].Value
		if handles(w, c) && p.dropV(w, c) <= w.LimitV && p.stands(w, c, lies) {
			return i
		}
	}
	return len(sizes) - 1
}

func handles(w *Wire, c *catalogue.Cable) bool { return c.AreaM2.SI >= 0.999*leastAreaM2(w.Kind) }

func (p *planner) dropV(w *Wire, c *catalogue.Cable) float64 {
	return w.DesignA * wire.ResistanceOhm(w.LengthM, c.OhmPerM.SI, w.HotK.SI)
}

// stands reports whether a conductor stands its load's heat, and its fuse, at its
// worst place.
func (p *planner) stands(w *Wire, c *catalogue.Cable, lies []Lie) bool {
	at, a := p.held.worst(c, w.Insulation, lies)
	return p.heats(w, a) && p.carries(w, a) && p.opens(w, c, at, a).ok
}

// heats: the load for ever.
func (p *planner) heats(w *Wire, ampacityA float64) bool { return w.Brief || w.HeatA <= ampacityA }

// SureA returns the current that may flow in a wire for ever without its guard opening.
//
//	I = min(1.35·I_n, I_short)
//
// Valid: fuses of ISO 8820, which need not open up to 1.35 times their rating.
// Accuracy: exact by the standard.
// Source: ISO 8820-3.
// Errors: none
func (g *Guard) SureA() float64 {
	if g.Fuse == "" {
		return g.ShortA
	}
	return math.Min(g.ShortA, fuse.SureRatio*g.RatingA)
}

// carries: what the guard lets through for ever.
func (p *planner) carries(w *Wire, ampacityA float64) bool {
	return w.Guard.Declared || w.Guard.SureA() <= ampacityA
}

// opens: what the guard lets through until it opens. A wire that the guard's
// current for ever is too much for is not followed any further.
func (p *planner) opens(w *Wire, c *catalogue.Cable, at *Lie, ampacityA float64) verdict {
	g := &w.Guard
	if g.Declared || g.Fuse == "" || !(g.ShortA > 0) {
		return verdict{ok: true} // nothing has to open: carries says the rest
	}
	if g.SureA() > ampacityA {
		return verdict{failA: ampacityA}
	}
	return p.held.overPlane(p.plane(w, c, at))
}

func (p *planner) plane(w *Wire, c *catalogue.Cable, at *Lie) planeKey {
	k := ask(c, w.Insulation, at)
	load := w.HeatA
	if w.Brief {
		load = 0
	}
	return planeKey{damageKey{k, startK(k, load), w.Insulation.ShortK.SI}, w.Guard.RatingA, w.Guard.ShortA}
}

// postDropV is what a battery, starter or alternator cable may lose at its
// design current (service limits for the starter side: 0.5 V; service data).
const postDropV = 0.4

func (p *planner) limit(w *Wire) {
	if w.LimitV != 0 {
		return
	}
	switch w.Kind {
	case Post, Strap:
		w.LimitV = postDropV
	case Return:
		w.LimitV = p.d.Cat.Scheme.GroundDropV.SI
	default:
		w.LimitV = 0.25
	}
}

// areaFix is the size the user fixed: of the wire itself, or of its feed.
func (p *planner) areaFix(w *Wire) *figure.Input {
	if f := p.fixes[w.Name]; f != nil && f.AreaM2 != nil {
		w.Pos = f.AreaM2.Pos
		return f.AreaM2
	}
	for _, v := range p.d.File.Loom.Feeds {
		if w.Kind == Supply && v.Name == w.Feed && v.Value.AreaM2 != nil && p.loom.Heads(w) {
			w.Pos = v.Value.AreaM2.Pos
			return v.Value.AreaM2
		}
	}
	return nil
}

// cableOf finds the standard conductor of an area, or makes one of solid copper
// of that area when it is no standard size.
func (p *planner) cableOf(area *figure.Input) *catalogue.Cable {
	for i := range p.d.Cat.Cables.Sizes {
		c := &p.d.Cat.Cables.Sizes[i].Value
		if math.Abs(c.AreaM2.SI-area.SI) < 0.02*area.SI {
			return c
		}
	}
	id := string(area.ID)
	derived := func(name, unit string, si float64, why string) *figure.Input {
		in := &figure.Input{ID: figure.ID(id + "/" + name), SI: si, Unit: unit, Source: why, Origin: figure.Decided, Pos: area.Pos}
		in.Seal()
		return in
	}
	return &catalogue.Cable{
		AreaM2:   area,
		OhmPerM:  derived("resistance", "mΩ/m", wire.SolidOhmPerM(area.SI)*1.02, "copper of the stated area, IEC 60028, 2 % for the lay of the strands"),
		OverallM: derived("overall diameter", "mm", 1.4*math.Sqrt(4/math.Pi*area.SI)+0.6e-3, "from memory: thin-wall cable of the stated area"),
	}
}

// sizeWord prints an area as a cable size.
func sizeWord(areaM2 float64) string {
	mm2 := areaM2 * 1e6
	switch {
	case math.Abs(mm2-math.Round(mm2)) < 1e-6:
		return fmt.Sprintf("%.0f mm²", mm2)
	case math.Abs(10*mm2-math.Round(10*mm2)) < 1e-6:
		return fmt.Sprintf("%.1f mm²", mm2)
	}
	return fmt.Sprintf("%.2f mm²", mm2)
}
