package catalogue_test

import (
	"math"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/design"
)

// TestEveryPartOfAKind holds each part against what is published of its kind.
func TestEveryPartOfAKind(t *testing.T) {
	c := load(t)
	within := func(name, what string, got, least, most float64, source string) {
		t.Helper()
		if got < least || got > most {
			t.Errorf("%s: %s is %.4g, want %g to %g (%s)", name, what, got, least, most, source)
		}
	}
	seen := map[string]int{}
	for _, name := range c.PartNames() {
		p := c.Parts[name]
		seen[p.Kind]++
		if k := p.Coil; k != nil {
			within(name, "primary resistance, Ω", k.Ohm.SI, 0.3, 1.0, "service data of single-spark coils: 0.3 to 1.0, 0.75 and 0.87 Ω")
			within(name, "primary inductance, mH", 1e3*k.Henry.SI, 2, 8, "range of inductive coils, from memory")
			within(name, "stored energy, mJ", 500*k.Henry.SI*k.ChargeA.SI*k.ChargeA.SI, 50, 150, "½LI²: 96 to 148 mJ for coils of 3 to 7 mH; above 30 to 50 mJ (Heywood, section 9.5)")
		}
		if r := p.Relay; r != nil {
			within(name, "coil, Ω", r.CoilOhm.SI, 68, 110, "data sheets of two mini relays: 68, 75, 85 Ω; small relays more, from memory")
			within(name, "contact at 10 A, mV", 10e3*r.ContactOhm.SI, 10, 50, "same: typically 15 mV, at most 50 and 200 mV")
			within(name, "operates, V", r.OperateV.SI, 6.5, 8, "same: 6.5 and 8 V")
		}
		if b := p.Battery; b != nil {
			within(name, "cold resistance times capacity, mΩ·A·h", 1e3*(12.6-7.2)/b.ColdA.SI*b.Capacity.SI/3600, 450, 750, "(12.6 − 7.2)/CCA: 9.0 mΩ for 600 A, of some 60 to 70 A·h")
		}
		if a := p.Alternator; a != nil {
			within(name, "rotor at 800 rpm of the engine, rpm", 800*a.PulleyRatio.SI, 1300, 2600, "cut-in at 1000 to 1500 rpm of the rotor, common practice")
		}
		if i := p.Injector; i != nil {
			lbPerH := i.FlowKgPerS.SI * 3600 / 0.45359237
			cc := i.FlowKgPerS.SI / 745 * 6e7
			within(name, "cm³/min a lb/h", cc/lbPerH, 10.1, 10.2, "453.59237/60/0.745 = 10.15")
			within(name, "dead time grows from 14 to 8 V", i.DeadAt8S.SI/i.DeadAt14S.SI, 2, 3.2, "common practice, two to three times")
		}
		if u := p.Pump; u != nil {
			watts := u.RatedPa.SI * u.Flow.SI / (u.RatedV.SI * u.CurrentA.SI)
			within(name, "hydraulic over electric power", watts, 0.05, 0.30, "common practice, 10 to 25 % for electric fuel pumps")
		}
	}
	for kind, least := range map[string]int{"controller": 3, "coil": 8, "injector": 7, "pump": 5, "battery": 5, "alternator": 6, "starter": 5, "relay": 4, "connector": 12, "sensor": 16, "unit": 8} {
		if seen[kind] < least {
			t.Errorf("%d parts are of kind %s, want at least %d", seen[kind], kind, least)
		}
	}
}

// TestVehicleArchetypes holds the road load of the archetypes against handbooks.
func TestVehicleArchetypes(t *testing.T) {
	const (
		old   = "older cars 0.7 to 1.2 m², small ones a little less; common practice"
		tyres = "0.01 to 0.015 on good roads, more for coarse tyres: engineeringtoolbox.com, rolling resistance"
	)
	c := load(t)
	for _, name := range c.ArchetypeNames("vehicle") {
		if name == "default" {
			continue
		}
		v := readBare(t, c, map[string]string{"vehicle": name}).File.Vehicle
		low, high := 0.6, 1.2
		switch name {
		case "pickup", "panel van", "forward-control van", "off-road vehicle":
			low, high = 1.0, 1.8
		case "light lorry":
			low, high = 2, 4
		}
		if v.DragAreaM2.SI < low || v.DragAreaM2.SI > high {
			t.Errorf("%s: drag area %g m², want %g to %g (%s)", name, v.DragAreaM2.SI, low, high, old)
		}
		if v.RollingFrac.SI < 0.01 || v.RollingFrac.SI > 0.02 {
			t.Errorf("%s: rolling resistance %g, want 0.01 to 0.02 (%s)", name, v.RollingFrac.SI, tyres)
		}
	}
}

// TestFiringOrders holds the archetypes' orders against those of the trade, and
// the even ones against the geometry of their cranks.
func TestFiringOrders(t *testing.T) {
	const source = "usual firing orders, from memory with high confidence"
	c := load(t)
	for name, orders := range map[string][]string{
		"inline three": {"1-3-2", "1-2-3"}, "inline four": {"1-3-4-2"}, "inline five": {"1-2-4-5-3"}, "inline six": {"1-5-3-6-2-4"},
		"V8": {"1-8-4-3-6-5-7-2", "1-8-7-2-6-5-4-3"},
	} {
		got := text(t, c, "engine", name, "firing order")
		if got != orders[0] && (len(orders) < 2 || got != orders[1]) {
			t.Errorf("%s fires %s, want one of %v (%s)", name, got, orders, source)
		}
	}
	// A bank of a V or flat engine holds half of the cylinders, cylinder 1 among them.
	for _, name := range c.ArchetypeNames("engine") {
		file, src, _ := c.Archetype("engine", name)
		tree, _ := buildfile.Parse(file, src)
		var e design.Engine
		buildfile.Decode(tree.Find("engine"), &e, buildfile.Options{Source: "x"})
		if e.Layout == "inline" || e.Layout == "" {
			continue
		}
		if 2*len(e.BankOne) != e.Cylinders || e.BankOne[0] != 1 {
			t.Errorf("%s: bank 1 is %v of %d cylinders", name, e.BankOne, e.Cylinders)
		}
		if e.Layout == "flat" && math.Abs(e.BankAngleRad.SI-math.Pi) > 1e-9 {
			t.Errorf("%s: a flat engine's banks stand at %s", name, e.BankAngleRad.Literal)
		}
	}
}
