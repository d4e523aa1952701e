package rule

import (
	"math"
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

var boostReference = Rule{
	ID: "boost-reference", Title: "the rail of a boosted engine is referred to the atmosphere",
	Why:    "Boost in the manifold pushes against the injector. A rail held above the atmosphere loses as much pressure across the injector as there is boost, and with it fuel, just where most is wanted: 10.6 % at 4.0 bar and 0.8 bar of boost.",
	Source: "square-root law of the injector", Severity: diag.Stop, Page: "fuel",
	Bad: append(slices.Clone(boosted[:1]), edit("atmosphere", "fuel system", "regulator reference")), Good: slices.Clone(boosted[:2]),
	Check: func(c *Case) []Finding {
		b, s := c.Design.File.Boost, &c.Design.File.System
		corrected := c.Design.File.Data != nil && c.Design.File.Data.Corrects
		if b == nil || s.Reference == "manifold" || corrected {
			return nil
		}
		f := Finding{Target: "fuel#regulator"}
		f.Pos, f.Subject = c.Design.Place("fuel system", "regulator reference"), "fuel system, regulator reference"
		f.Msg = diag.Sayf("the rail is referred to the atmosphere and loses %v across the injectors at full boost", input(b.GaugePa))
		if across := vehicle.SetAcrossPa(s.SetPa.SI, b.GaugePa.SI, false); across > 0 {
			f.Why = diag.Sayf("With %v left of %v the injectors pass %v than at the same pulse without boost.",
				say("boost/injector/AcrossPa", across, "bar"), input(s.SetPa), moreOrLess("boost/injector", across, s.SetPa.SI))
		}
		f.Value, f.Limit = diag.Sayf("atmosphere"), diag.Sayf("manifold")
		f.Hint = diag.Sayf("refer the regulator to the manifold, or have the controller correct for the pressure across the injector")
		return []Finding{f}
	},
}

// dataFrac is how far an injector's entered pressure may lie off the rail's
// before its fuel is off by more than four per cent (common practice: the
// nearest rating is taken within that).
const dataFrac = 0.04

var injectorData = Rule{
	ID: "injector-data", Title: "the injector's data belong to another pressure",
	Why:    "An injector passes as the square root of the pressure across it. Data for one pressure entered beside a rail at another put every pulse off by that root, unless the controller carries them over itself.",
	Source: "square-root law of the injector; common practice: data for 60 psi are within 2 % at 58, for 43 within 4 % at 40", Severity: diag.Fix, Page: "fuel",
	Bad: append(referenced(), edit("3 bar", "injector data", "entered for")), Good: append(referenced(), edit("4 bar", "injector data", "entered for")),
	Check: func(c *Case) []Finding {
		d, s := c.Design.File.Data, &c.Design.File.System
		if d == nil || d.Corrects || d.Carried || math.Abs(math.Sqrt(s.SetPa.SI/d.EnteredPa.SI)-1) <= dataFrac {
			return nil
		}
		f := at(d.EnteredPa, "fuel", "injector data, entered for", diag.Sayf("the injector's data are for %v and the rail has %v, so the injectors pass %v than is entered", input(d.EnteredPa), input(s.SetPa), moreOrLess("injector data/rail", s.SetPa.SI, d.EnteredPa.SI)),
			diag.Sayf("%v", input(d.EnteredPa)), diag.Sayf("%v, or a controller that corrects", input(s.SetPa)), "enter the flow for the rail's pressure, or switch the controller's correction on")
		f.Mends = to("controller corrects: yes", "yes", "injector data", "controller corrects")
		return []Finding{f}
	},
}

// referenced are edits that refer the base vehicle's rail to the manifold.
func referenced() []buildfile.Edit {
	return []buildfile.Edit{edit("manifold", "fuel system", "regulator reference"), edit("at the rail", "fuel system", "return")}
}

// moreOrLess says what an injector passes at a pressure against another, as the
// ledger has it under an ID: "15.5 % more".
func moreOrLess(id figure.ID, acrossPa, ratedPa float64) diag.Phrase {
	off := vehicle.OffFrac(vehicle.AtRatedRatio(acrossPa, ratedPa))
	text := shown{id + "/FlowOffFrac", quantity.Format(math.Abs(off), "%", 0)}
	if off < 0 {
		return diag.Sayf("%v less", text)
	}
	return diag.Sayf("%v more", text)
}

// sameFrac is how far two pressures' flows may lie apart and be of one pressure:
// carried over, nothing moves (a tenth of what an injector's sheet is good for).
const sameFrac = 0.002

var injectorTwice = Rule{
	ID: "injector-data-twice", Title: "the injector's data are corrected twice",
	Why:    "Flow carried to the rail's pressure by hand and again by the controller is off by the root of the pressures once more than it should be, and nobody looks for it.",
	Source: "square-root law of the injector; common practice", Severity: diag.Fix, Page: "fuel",
	Bad:  []buildfile.Edit{edit("3 bar", "injector data", "entered for"), edit("yes", "injector data", "controller corrects"), edit("yes", "injector data", "carried by hand")},
	Good: []buildfile.Edit{edit("3 bar", "injector data", "entered for"), edit("yes", "injector data", "controller corrects"), edit("no", "injector data", "carried by hand")},
	Check: func(c *Case) []Finding {
		d := c.Design.File.Data
		same := d != nil && math.Abs(math.Sqrt(c.Design.File.System.SetPa.SI/d.EnteredPa.SI)-1) <= sameFrac
		if d == nil || !d.Corrects || !d.Carried || same {
			return nil
		}
		f := Finding{Target: "fuel#injector"}
		f.Pos, f.Subject = c.Design.Place("injector data", "carried by hand"), "injector data, carried by hand"
		f.Msg = diag.Sayf("the injector's flow is carried to the rail's pressure by hand, and by the controller again")
		f.Value, f.Limit = diag.Sayf("twice"), diag.Sayf("once")
		f.Hint = diag.Sayf("enter the flow as the sheet rates it and leave the correction to the controller")
		f.Mends = to("carried by hand: no", "no", "injector data", "carried by hand")
		return []Finding{f}
	},
}
