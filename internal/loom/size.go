package loom

import (
	"fmt"
	"math"

	"fettle/internal/catalogue"
	"fettle/internal/figure"
	"fettle/internal/wire"
)

// sizingBundle is how many wires of a bundle are taken to carry their full
// current at once when a wire is sized (common practice in an engine harness,
// where most wires carry signals).
const sizingBundle = 3

// leastAreaM2 is the smallest wire by what it must stand in handling.
func leastAreaM2(k Kind) float64 {
	switch k {
	case Signal, Output:
		return 0.5e-6 // sensors and drivers: crimps and strain (common practice)
	case Post, Strap:
		return 6e-6
	}
	return 0.75e-6
}

type ampKey struct {
	size  string
	tempK float64
}

// size gives every wire its conductor, its colour and its reason.
func (p *planner) size() {
	for i := range p.loom.Wires {
		p.sizeWire(&p.loom.Wires[i])
	}
}

func (p *planner) sizeWire(w *Wire) {
	w.Colour = p.colour(w)
	p.limit(w)
	fix := p.areaFix(w)
	sizes := p.d.Cat.Cables.Sizes
	if fix != nil {
		c := p.cableOf(fix)
		w.Cable, w.Size, w.Area, w.Fixed = c, sizeWord(fix.SI), fix, true
		w.AmpacityA = p.ampacityA(c, w.Size, w.HotK.SI)
		w.Why = "fixed in the file"
		return
	}
	for i := range sizes {
		c := &sizes[i].Value
		last := i == len(sizes)-1
		w.AmpacityA = p.ampacityA(c, sizes[i].Name, w.HotK.SI)
		why, holds := p.holds(w, c)
		if holds || last {
			w.Cable, w.Size, w.Why = c, sizeWord(c.AreaM2.SI), why
			w.Area = c.AreaM2
			return
		}
	}
}

// holds tests a conductor against everything its wire asks; the reason is the
// hardest of them.
func (p *planner) holds(w *Wire, c *catalogue.Cable) (why string, ok bool) {
	dropV := w.DesignA * wire.ResistanceOhm(w.LengthM, c.OhmPerM.SI, w.HotK.SI)
	heatA := math.Max(w.DesignA, w.FuseA)
	if w.Brief {
		heatA = 0
	}
	area := c.AreaM2.SI >= 0.999*leastAreaM2(w.Kind)
	heat := w.AmpacityA >= heatA
	drop := dropV <= w.LimitV
	least := math.Max(leastAreaM2(w.Kind)/c.AreaM2.SI, math.Max(heatA/math.Max(w.AmpacityA, 1e-9), dropV/w.LimitV))
	switch {
	case least == leastAreaM2(w.Kind)/c.AreaM2.SI:
		why = fmt.Sprintf("smallest that stands handling: %s", sizeWord(leastAreaM2(w.Kind)))
	case least == dropV/w.LimitV:
		why = fmt.Sprintf("loses %.2f V at %.1f A over %.1f m; its class allows %.2f V", dropV, w.DesignA, w.LengthM, w.LimitV)
	case w.FuseA > w.DesignA:
		why = fmt.Sprintf("carries %.0f A for ever here, its fuse %.0f A", w.AmpacityA, w.FuseA)
	default:
		why = fmt.Sprintf("carries %.0f A for ever here, its load is %.1f A", w.AmpacityA, w.DesignA)
	}
	return why, area && heat && drop
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
		if w.Kind == Supply && v.Name == w.Feed && v.Value.AreaM2 != nil && w.From.Node == "feed "+w.Feed {
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

func (p *planner) ampacityA(c *catalogue.Cable, size string, tempK float64) float64 {
	key := ampKey{size, tempK}
	if a, ok := p.ampacity[key]; ok {
		return a
	}
	a := AmpacityA(p.d, c, tempK)
	p.ampacity[key] = a
	return a
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

// colour gives a wire its IEC 60757 letters: by function, first letter pair for
// what it is, second for which. A scheme of our own; the user's goes first.
func (p *planner) colour(w *Wire) string {
	if f := p.fixes[w.Name]; f != nil && f.Colour != "" {
		return f.Colour
	}
	second := [...]string{"", "BK", "WH", "YE", "GN", "BU", "VT", "GY", "OG", "PK"}
	switch w.Kind {
	case Post, Strap:
		if w.Kind == Strap {
			return "BN"
		}
		return "RD"
	case Supply:
		for i, f := range p.d.Cat.Scheme.Feeds {
			if f.Name == w.Feed {
				return "RD" + second[i%len(second)]
			}
		}
		return "RD"
	case Return:
		return "BN"
	case Output:
		return "WH" + second[1+w.Number%(len(second)-2)]
	}
	return "GY" + second[1+(w.Number*3)%(len(second)-3)]
}
