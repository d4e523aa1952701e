package design

import (
	"math"
	"slices"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/figure"
)

// vehicleContradictions finds what the vehicle's gearbox, old electrics, cooling
// and leads say against each other.
func (d *Design) vehicleContradictions() []diag.Diagnostic {
	ds := append(d.gearbox(), d.gears()...)
	ds = append(ds, d.excitation()...)
	ds = append(ds, d.radiator()...)
	return append(ds, d.leads()...)
}

// gearbox refuses what only an automatic has, and a converter that stalls below
// the idle speed.
func (d *Design) gearbox() []diag.Diagnostic {
	g := d.File.Gearbox
	if g == nil {
		return nil
	}
	var ds []diag.Diagnostic
	kind := d.Place("gearbox", "kind")
	if g.Kind == "manual" && g.RunBy != "" {
		ds = append(ds, diag.Errorf(d.Place("gearbox", "run by"), "gearbox", "a manual gearbox is shifted by hand; it is said to be run by %s", g.RunBy).
			WithRelated(kind, "the kind").WithHint("leave %q out, or state the gearbox as automatic", "run by"))
	}
	stall, idle := g.StallRadPerS, d.File.Engine.IdleRadPerS
	if g.Kind == "manual" && stall != nil {
		ds = append(ds, diag.Errorf(stall.Pos, "gearbox", "a manual gearbox has no converter; a stall speed of %s is stated", stall.Literal).
			WithRelated(kind, "the kind").WithHint("leave %q out, or state the gearbox as automatic", "stall speed"))
	}
	if g.Kind == "automatic" && known(stall) && known(idle) && stall.SI <= idle.SI {
		ds = append(ds, diag.Errorf(stall.Pos, "gearbox", "stall speed %s is not above idle speed %s: the engine would stall in gear", written(stall), written(idle)).
			WithRelated(idle.Pos, "the idle speed").WithHint("measure the stall speed at full throttle, wheels chocked, for a few seconds only"))
	}
	return ds
}

// roundingRatio is how far a gear's ratio may lie from the one that is stated
// again elsewhere: lists round to a hundredth.
const roundingRatio = 0.006

// gears holds the ratios that are stated for a state against the gearbox's.
func (d *Design) gears() []diag.Diagnostic {
	g := d.File.Gearbox
	if g == nil || len(g.Ratios) == 0 {
		return nil
	}
	words := make([]string, len(g.Ratios))
	for i, r := range g.Ratios {
		if !known(r) {
			return nil // that it can't be read is said
		}
		words[i] = r.Literal
	}
	var ds []diag.Diagnostic
	for _, v := range []struct {
		key string
		in  *figure.Input
	}{{"gear ratio at cruise", d.File.Vehicle.CruiseRatio}, {"gear ratio at full power", d.File.Vehicle.TopRatio}} {
		if !stated(v.in) || !known(v.in) || d.isGear(v.in) {
			continue
		}
		ds = append(ds, diag.Errorf(v.in.Pos, "gear-ratio", "%s %s is none of the gearbox's, which has %s", v.key, v.in.Literal, strings.Join(words, ", ")).
			WithRelated(d.Place("gearbox", "ratios"), "the gearbox's ratios").WithHint("write the ratio of the gear that it is driven in, without the axle's"))
	}
	return ds
}

// isGear reports whether a ratio is one of the gearbox's.
func (d *Design) isGear(in *figure.Input) bool {
	for _, r := range d.File.Gearbox.Ratios {
		if math.Abs(r.SI-in.SI) <= math.Max(roundingRatio*r.SI, 2*math.Max(in.SdSI, r.SdSI)) {
			return true
		}
	}
	return false
}

// excitation refuses a charge lamp beside another way to excite the alternator.
func (d *Design) excitation() []diag.Diagnostic {
	e := d.File.Electrical
	if e == nil || e.LampW == nil || !slices.Contains([]string{"resistor", "controller", "nothing"}, e.Excited) {
		return nil
	}
	return []diag.Diagnostic{
		diag.Errorf(e.LampW.Pos, "excitation", "a charge lamp of %s is stated, and the alternator is said to be excited by: %s", e.LampW.Literal, e.Excited).
			WithRelated(d.Place("electrical", "alternator excited by"), "what excites it").WithHint("leave the lamp out, or write lamp"),
	}
}

// radiator wants heat and temperature difference together.
func (d *Design) radiator() []diag.Diagnostic {
	k := d.File.Cooling
	if k == nil || (k.RadiatorW == nil) == (k.AtK == nil) {
		return nil
	}
	if k.AtK == nil {
		if d.Tree.Find("cooling", "at") != nil {
			return nil // that it can't be read is said
		}
		return []diag.Diagnostic{diag.Errorf(k.RadiatorW.Pos, "radiator", "a radiator of %s at no temperature difference says nothing", k.RadiatorW.Literal).
			WithHint("add %q, how much hotter the coolant is than the air when it sheds that much", "at")}
	}
	if d.Tree.Find("cooling", "radiator") != nil {
		return nil
	}
	return []diag.Diagnostic{diag.Errorf(k.AtK.Pos, "radiator", "a temperature difference of %s belongs to a radiator, and none is stated", k.AtK.Literal).
		WithHint("add %q, the heat that it sheds at that difference", "radiator")}
}

// leads holds what has become of a loose lead against where it ends.
func (d *Design) leads() []diag.Diagnostic {
	var ds []diag.Diagnostic
	for _, l := range d.File.Leads {
		to := l.Value.To.Name
		switch {
		case l.Value.Is == "connected" && to == "" && d.Tree.Find("loose leads", l.Name, "to") == nil:
			ds = append(ds, diag.Errorf(d.Place("loose leads", l.Name, "is"), "lead", "the loose lead %q is said to be connected, and to nothing", l.Name).
				WithHint("add %q with the device it ends at", "to"))
		case (l.Value.Is == "insulated" || l.Value.Is == "open") && to != "":
			ds = append(ds, diag.Errorf(d.Place("loose leads", l.Name, "is"), "lead", "the loose lead %q is said to be %s, and to end at %q", l.Name, l.Value.Is, to).
				WithRelated(l.Value.To.Pos, "where it ends").WithHint("leave %q out, or write connected", "to"))
		}
	}
	return ds
}
