package rule

import (
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// solenoidDriver is what a driver of a gearbox's solenoids can do.
const solenoidDriver = "solenoid driver"

// What shifts an automatic.
const (
	byEngine = "engine controller"
	byUnit   = "own unit"
)

func (c *Case) automatic() bool {
	g := c.Design.File.Gearbox
	return g != nil && g.Kind == "automatic"
}

// shifted reports whether a control unit shifts the gearbox.
func (c *Case) shifted() bool {
	return c.automatic() && (c.Design.File.Gearbox.RunBy == byEngine || c.Design.File.Gearbox.RunBy == byUnit)
}

var gearboxControl = Rule{
	ID: "gearbox-control", Title: "nothing runs the gearbox's solenoids",
	Why: "An electronically controlled automatic shifts, holds its line pressure and locks its converter by solenoids alone. With nothing to drive them it stays in the gear that it falls back to, " +
		"at full pressure, and its converter slips and cooks the oil.",
	Source: "common practice", Severity: diag.Fix, Page: "driveline",
	Bad:  []buildfile.Edit{edit("engine unit", "devices", "controller", "part"), edit(byEngine, "gearbox", "run by")},
	Good: []buildfile.Edit{edit("large controller", "devices", "controller", "part"), edit(byEngine, "gearbox", "run by")},
	Parts: map[string]string{"parts/engine unit.yaml": strings.Replace(exampleController("engine unit",
		`{connector: C, ways: "1", can: [motor bridge one], current: 8 A, resistance: 250 mΩ}`,
		`{connector: C, ways: "2", can: [motor bridge two], current: 8 A, resistance: 250 mΩ}`), "low side, solenoid driver", "low side", 1)},
	Check: checkGearboxControl,
}

func checkGearboxControl(c *Case) []Finding {
	if !c.automatic() {
		return nil
	}
	g := c.Design.File.Gearbox
	solenoids := len(c.wants(solenoidDriver))
	own, other := partCan(c.Design.One("controller").Part, solenoidDriver), c.otherCan(solenoidDriver)
	f := Finding{Target: "driveline#gearbox"}
	f.Pos, f.Subject = c.Design.Place("gearbox", "run by"), "gearbox"
	f.Hint = diag.Sayf("take a controller that drives its solenoids, or add a gearbox unit of its own")
	switch {
	case g.RunBy == byEngine && !own:
		f.Msg = diag.Sayf("the engine controller is to shift the gearbox, and %q has no driver for its solenoids", c.Design.One("controller").Part.Name)
		f.Value, f.Limit = diag.Sayf("no solenoid driver"), diag.Sayf("one for every solenoid")
		f.Mends = solenoidControllers(c)
	case g.RunBy == byUnit && !other:
		f.Msg = diag.Sayf("a unit of its own is to shift the gearbox, and no device is one")
		f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("one unit that drives solenoids")
		f.Hint = diag.Sayf("add the gearbox unit to the devices")
		if own {
			f.Mends = to("gearbox run by: engine controller", byEngine, "gearbox", "run by")
		}
	case (g.RunBy == byEngine || g.RunBy == byUnit) && solenoids == 0:
		f.Msg = diag.Sayf("the gearbox is shifted by the %s, and no device is one of its solenoids", g.RunBy)
		f.Value, f.Limit = diag.Sayf("no solenoid"), diag.Sayf("those of shifts, pressure and converter clutch")
		f.Hint = diag.Sayf("add the gearbox's solenoids to the devices, or state that hydraulics shift it")
	case g.RunBy == "" && solenoids > 0 && !own && !other:
		f.Msg = diag.Sayf("the gearbox has solenoids, and no control unit drives them")
		f.Value, f.Limit = diag.Sayf("no solenoid driver"), diag.Sayf("one for every solenoid")
		f.Mends = solenoidControllers(c)
	default:
		return nil
	}
	return []Finding{f}
}

// otherCan reports whether a control unit beside the engine's can do something.
func (c *Case) otherCan(needs string) bool {
	for _, it := range c.Design.Devices {
		if it.Part.Kind != "controller" && partCan(it.Part, needs) {
			return true
		}
	}
	return false
}

// solenoidControllers offers the catalogue's controllers that drive solenoids.
func solenoidControllers(c *Case) []Mend {
	return exchange(c, c.Design.One("controller"), func(p *catalogue.Part) (float64, bool) {
		return float64(len(p.Controller.Pins)), partCan(p, solenoidDriver)
	})
}

var gearboxSignals = Rule{
	ID: "gearbox-signals", Title: "what shifts the gearbox does not know the road or the lever",
	Why: "A shift schedule is a table of road speed against throttle, and the lever says which gears it may use. Without the speed of the output shaft nothing tells when to shift, " +
		"and without the range switch the unit does not know reverse from drive.",
	Source: "common practice", Severity: diag.Fix, Page: "driveline",
	Bad:   []buildfile.Edit{{Path: []string{"devices", "output shaft speed"}, Delete: true}, {Path: []string{"devices", "input shaft speed"}, Delete: true}, edit(byEngine, "gearbox", "run by")},
	Good:  []buildfile.Edit{edit("shaft speed sensor", "devices", "output shaft speed", "part"), edit(byEngine, "gearbox", "run by")},
	Check: checkGearboxSignals,
}

func checkGearboxSignals(c *Case) []Finding {
	if !c.shifted() {
		return nil
	}
	var missing []string
	if !c.tells("shaft speed", "road speed", "wheel speed") {
		missing = append(missing, "a road speed sensor")
	}
	if !c.tells("selector") {
		missing = append(missing, "a range switch")
	}
	if len(missing) == 0 {
		return nil
	}
	f := Finding{Target: "driveline#gearbox"}
	f.Pos, f.Subject = c.Design.Place("gearbox", "run by"), "gearbox signals"
	f.Msg = diag.Sayf("the gearbox is shifted by the %s, and no device is %s", c.Design.File.Gearbox.RunBy, strings.Join(missing, " or "))
	f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("output shaft speed and range switch")
	f.Hint = diag.Sayf("add %s to the devices", list(missing))
	return []Finding{f}
}

var gearOrder = Rule{
	ID: "gear-order", Title: "the gearbox's ratios do not fall from first to top",
	Why: "A shift up lowers the engine's speed by the step between two ratios. A list out of order makes the schedule shift into a gear that over-revs the engine, " +
		"and the road speed of every gear after it is another one's.",
	Source: "definition of the gear ratio, input over output speed", Severity: diag.Fix, Page: "driveline",
	Bad:   []buildfile.Edit{edit("1", "gearbox", "ratios", "1"), edit("1.55", "gearbox", "ratios", "2")},
	Good:  []buildfile.Edit{edit("1.5", "gearbox", "ratios", "1"), edit("1", "gearbox", "ratios", "2")},
	Check: checkGearOrder,
}

func checkGearOrder(c *Case) []Finding {
	g := c.Design.File.Gearbox
	if g == nil {
		return nil
	}
	for i := 1; i < len(g.Ratios); i++ {
		now, before := g.Ratios[i], g.Ratios[i-1]
		if now.SI < before.SI {
			continue
		}
		f := at(now, "driveline", "gearbox ratios",
			diag.Sayf("gear %d has the ratio %v, which is not below the %v of gear %d", i+1, input(now), input(before), i),
			diag.Sayf("%v", input(now)), diag.Sayf("below %v", input(before)), "write the ratios from first to top, input over output speed")
		f.Mends = fallingRatios(g.Ratios)
		return []Finding{f}
	}
	return nil
}

// fallingRatios puts the ratios in order; none when two are equal, since then
// one is wrong and only the builder knows which.
func fallingRatios(ratios []*figure.Input) []Mend {
	var m Mend
	for i := range ratios {
		var at, same int
		for j := range ratios {
			if ratios[j].SI > ratios[i].SI {
				at++
			}
			if ratios[j].SI == ratios[i].SI {
				same++
			}
		}
		if same > 1 {
			return nil
		}
		if at != i {
			m.Edits = append(m.Edits, edit(ratios[i].Literal, "gearbox", "ratios", strconv.Itoa(at)))
		}
	}
	m.Title = diag.Sayf("ratios from first to top")
	return []Mend{m}
}
