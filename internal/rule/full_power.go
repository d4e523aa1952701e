package rule

import (
	"math"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

var pumpVoltage = Rule{
	ID:       "pump-voltage",
	Title:    "the fuel pump gets fewer volts than it needs",
	Why:      "A pump's speed follows its voltage; below what its sheet asks for, its flow at pressure is not assured, and it runs hot.",
	Source:   "the pump's own sheet",
	Severity: diag.Fix,
	Page:     "power",
	Bad: []buildfile.Edit{
		{Path: []string{"devices", "alternator", "part"}, Text: "low alternator"},
		{Path: []string{"fuel system", "rail pressure"}, Text: "3.5 bar"},
	},
	Good: []buildfile.Edit{
		{Path: []string{"devices", "alternator", "part"}, Text: "alternator 120 A"},
		{Path: []string{"fuel system", "rail pressure"}, Text: "3.5 bar"},
	},
	Parts: map[string]string{"parts/low alternator.yaml": lowAlternator},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Full, "fuel pump", "VoltageV")
		if !short(m, ok) {
			return nil
		}
		f := finding(c.pump().Pos, "fuel pump", "power#fuel-pump", design.Full, m,
			diag.Sayf("the pump gets %v; it needs %v", value(m), limit(m)))
		f.Why = diag.Sayf("Wires, contacts and the return take the rest.")
		f.Hint = diag.Sayf("shorten or thicken its wire and its return, or see why the alternator holds so little")
		return []Finding{f}
	},
}

// An example's alternator: with a regulator that is set too low.
const lowAlternator = `part: low alternator
kind: alternator
is: invented alternator with a worn regulator
source: invented for an example
terminals:
  30: {role: post}
  61: {role: input, needs: switch input}
  case: {role: case}
alternator:
  rated current: 120 A ± 5 %
  set voltage: 12.9 V ± 0.1 V
  regulation: 3 mΩ ± 40 %
  pulley ratio: 2.8 ± 0.05
`

var injectorDuty = Rule{
	ID:    "injector-duty",
	Title: "the injectors are open longer than they can be steered",
	Why: "Towards 100 % duty an injector no longer closes between pulses: fuel stops following the pulse, and the mixture turns lean where the load is greatest. " +
		"Beyond 80 to 85 % there is nothing left for a cold day.",
	Source:   "common practice: 80 to 85 %",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "injector", "part"}, Text: "injector 160 cc"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "injector", "part"}, Text: "injector 270 cc"}},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Full, "injector", "DutyFrac")
		where := "full power"
		if atLimit, known := c.margin(design.Full, "injector", "LimitDutyFrac"); known && atLimit.Value > m.Value {
			m, where = atLimit, "the speed limit"
		}
		if !short(m, ok) || len(c.Design.OfKind("injector")) == 0 {
			return nil
		}
		f := finding(c.Design.OfKind("injector")[0].Pos, "injectors", "power#injectors", design.Full, m,
			diag.Sayf("the injectors are open %v of the time at %s; %v allowed", value(m), where, limit(m)))
		f.Why = diag.Sayf("Each passes what its size and the pressure across it allow; the engine burns more.")
		f.Hint = diag.Sayf("fit larger injectors or raise the rail's pressure within what they stand")
		f.Mends = largerInjectors(c, m.Value/m.Limit)
		return []Finding{f}
	},
}

// largerInjectors offers the catalogue's injectors that pass at least so many
// times as much at the same pressure, the smallest first. The dead time makes
// that the least that could do; which one does is tried.
func largerInjectors(c *Case, times float64) []Mend {
	it := c.Design.OfKind("injector")[0]
	per := func(p *catalogue.Part) float64 { return p.Injector.FlowKgPerS.SI / math.Sqrt(p.Injector.RatedPa.SI) }
	return exchange(c, it, func(p *catalogue.Part) (float64, bool) {
		return per(p), per(p) >= times*per(it.Part)
	})
}

var coilCharge = Rule{
	ID:    "coil-charge",
	Title: "a coil has less time between sparks than it needs to charge",
	Why: "A coil needs a time to reach its current that grows as its voltage falls. At speed the time between two sparks shrinks; " +
		"once it is too short the spark weakens and the engine misfires under load.",
	Source:   "charge of an inductor, t = −(L/R) ln(1 − IR/V): circuit theory",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "coil", "part"}, Text: "slow coil"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "coil", "part"}, Text: "plug coil"}},
	Parts:    map[string]string{"parts/slow coil.yaml": slowCoil},
	Check: func(c *Case) []Finding {
		m, ok := c.margin(design.Full, "coil", "DwellS")
		coils := c.Design.OfKind("coil")
		if !ok || len(coils) == 0 || math.IsNaN(m.Value) {
			return nil
		}
		s, charge := c.Result.State(design.Full), coils[0].Part.Coil.ChargeA
		reached := say(figure.ID(s.Key+"/coil/CurrentReachedA"), s.Point.CoilA, "A")
		f := finding(coils[0].Pos, "coils", "power#coils", design.Full, m,
			diag.Sayf("a coil needs %v to charge at full power; it has %v", value(m), limit(m)))
		switch {
		case short(m, ok):
		case s.Point.SpeedRadPerS > 0 && s.Point.CoilA < reachedFrac*charge.SI:
			f.Msg = diag.Sayf("a coil reaches %v at full power, however long it charges; it is made for %v", reached, input(charge))
			f.Value, f.Limit = diag.Sayf("%v", reached), diag.Sayf("at least %v", input(charge))
		default:
			return nil
		}
		f.Why = diag.Sayf("Its voltage is too low or it is too slow for this speed.")
		f.Hint = diag.Sayf("fit faster coils or give them more volts")
		f.Mends = quickerCoils(c)
		return []Finding{f}
	},
}

// reachedFrac is the share of its charge current from which a coil counts as
// charged: the last hundredth adds two hundredths of energy.
const reachedFrac = 0.99

// An example's coil: made for an engine of one cylinder that turns slowly.
const slowCoil = `part: slow coil
kind: coil
is: invented coil of great inductance, for an engine that turns slowly
source: invented for an example
terminals:
  15: {role: feed, feed: ignition}
  31: {role: ground, ground: head}
  signal: {role: output, needs: coil driver}
loads:
  - {from: "15", to: "31", model: coil, on: [cranking, idle, full power]}
coil:
  primary resistance: 3.6 Ω ± 1 %
  primary inductance: 20 mH ± 1 %
  charge current: 3.9 A ± 1 %
  least energy: 35 mJ ± 20 %
`
