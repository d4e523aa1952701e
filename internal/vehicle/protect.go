package vehicle

import (
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/loom"
)

// WireFigureID is the ID of a figure of a wire that holds in every state:
// "AmpacityA", "TempK", "DesignA", "HeatA", "OthersWPerM", "ShortA", "FarA".
func WireFigureID(w *loom.Wire, name string) figure.ID {
	return figure.ID("loom/" + WireName(w.Number) + "/" + name)
}

// FuseFigureID is the ID of a figure of a fuse that holds in every state: "LoadA",
// "ContinuousA".
func FuseFigureID(f *loom.Fuse, name string) figure.ID {
	return figure.ID("loom/fuse " + f.Name + "/" + name)
}

// protection records what a wire stands in its place and what may flow in it.
func (a *accountant) protection(w *loom.Wire) {
	l := a.l
	id := func(name string) figure.ID { return WireFigureID(w, name) }
	l.Leaf(w.Area)
	l.Put(id("DesignA"), formula.LoomDesignA, w.DesignA, "A", a.served(w)...)
	l.Put(id("HeatA"), formula.LoomHeatA, w.HeatA, "A", a.served(w)...)
	l.Put(id("OthersWPerM"), formula.LoomOthersWPerM, w.Lie.OthersWPerM, "W/m", a.others(w)...)
	place := []figure.ID{
		l.Leaf(w.Lie.HotK), l.Leaf(w.Cable.OhmPerM), l.Leaf(w.Cable.OverallM), l.Leaf(w.Area), id("OthersWPerM"),
	}
	l.Put(id("AmpacityA"), formula.WirePlaceAmpacityA, w.AmpacityA, "A", append(place, l.Leaf(w.Insulation.LimitK))...)
	if w.TempK > 0 {
		l.Put(id("TempK"), formula.WirePlaceTempK, w.TempK, "°C", append(place, id("HeatA"))...)
	}
	g := &w.Guard
	if g.ShortA > 0 && g.LimitA == 0 {
		in := []figure.ID{l.Leaf(a.v.Design.One("battery").Part.Battery.ColdA)}
		for _, i := range g.Via {
			u := &a.v.Loom.Wires[i]
			in = append(in, WireLengthID(u), l.Leaf(u.Cable.OhmPerM))
		}
		for _, name := range g.ViaFuses {
			in = append(in, l.Leaf(a.v.fuseNamed(name).RatingA))
		}
		l.Put(id("ShortA"), formula.LoomShortA, g.ShortA, "A", in...)
		l.Put(id("FarA"), formula.LoomShortA, g.FarA, "A", append(in, WireLengthID(w), l.Leaf(w.Cable.OhmPerM))...)
	}
	if f := a.v.fuseNamed(g.Fuse); f != nil {
		in := []figure.ID{l.Leaf(f.RatingA)}
		if g.LimitA == 0 {
			in = append(in, id("ShortA"))
		}
		l.Put(id("SureA"), formula.LoomGuardSureA, g.SureA(), "A", in...)
		if !g.Holds {
			fuseS, wireS := g.Against(g.FailA)
			l.Put(id("FailA"), formula.FuseCurveHoldsWire, g.FailA, "A", append(place, in...)...)
			l.Put(id("OpensS"), formula.FuseCurveOpenS, fuseS, "s", append(in, id("FailA"))...)
			l.Put(id("StandsS"), formula.WireDamageWithstandS, wireS, "s", append(place, id("FailA"), l.Leaf(w.Insulation.ShortK))...)
		}
	}
}

// fuseNamed is a fuse of the loom, nil when there is none of that name.
func (v *Vehicle) fuseNamed(name string) *loom.Fuse {
	for i := range v.Loom.Fuses {
		if f := &v.Loom.Fuses[i]; f.Name == name {
			return f
		}
	}
	return nil
}

// others lists the design currents and resistances of a wire's bundle.
func (a *accountant) others(w *loom.Wire) []figure.ID {
	var out []figure.ID
	if w.Lie.Wires < 2 {
		return []figure.ID{a.l.Leaf(w.Lie.HotK)}
	}
	for i := range a.v.Loom.Wires {
		o := &a.v.Loom.Wires[i]
		if o.Number != w.Number && o.HeatA >= 1 && a.v.Loom.Together(w, o) {
			out = append(out, WireFigureID(o, "HeatA"), a.l.Leaf(o.Cable.OhmPerM))
		}
	}
	if len(out) == 0 {
		out = append(out, a.l.Leaf(w.Lie.HotK))
	}
	return out
}

// fuse records what a fuse carries and what it may.
func (a *accountant) fuse(f *loom.Fuse) {
	l, s := a.l, &a.v.Design.Cat.Scheme
	l.Leaf(f.RatingA)
	l.Put(FuseFigureID(f, "LoadA"), formula.LoomHeatA, f.LoadA, "A", a.behindFuse(f)...)
	l.Put(FuseFigureID(f, "ContinuousA"), formula.FuseContinuousA, loom.MostA(f, s.FuseFrac.SI), "A", l.Leaf(f.RatingA), l.Leaf(s.FuseFrac), l.Leaf(f.HotK))
}

// behindFuse lists what makes a fuse's load: the wires that start behind it.
func (a *accountant) behindFuse(f *loom.Fuse) []figure.ID {
	var out []figure.ID
	for i := range a.v.Loom.Wires {
		if w := &a.v.Loom.Wires[i]; w.From.Node == f.To || w.To.Node == f.From {
			out = append(out, a.served(w)...)
		}
	}
	if len(out) == 0 {
		out = append(out, a.l.Leaf(a.v.Design.One("alternator").Part.Alternator.RatedA))
	}
	return out
}
