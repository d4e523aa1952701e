package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// tells reports whether a device tells the controller one of some quantities.
func (c *Case) tells(any ...string) bool { return len(c.Design.Telling(any...)) > 0 }

// unsensed is what a rule about a quantity that no device reads is made of.
type unsensed struct {
	id, title, why, source string
	bad, good              []buildfile.Edit
	reads                  []string // any of which will do
	msg, hint              string
	name, part             string // of the device that would
}

func (u unsensed) rule() Rule {
	return Rule{
		ID: u.id, Title: u.title, Why: u.why, Source: u.source, Severity: diag.Fix, Page: "engine", Bad: u.bad, Good: u.good,
		Check: func(c *Case) []Finding {
			if len(c.Design.Telling(u.reads...)) > 0 {
				return nil
			}
			f := Finding{Target: "engine#sensors"}
			f.Pos, f.Subject, f.Msg = c.Design.Place("devices"), u.name, diag.Sayf("%s", u.msg)
			f.Value, f.Limit, f.Hint = diag.Sayf("none"), diag.Sayf("one"), diag.Sayf("%s%s", u.hint, c.orSay(u.reads[0]))
			if l := c.Design.OfKind("injector"); len(l) > 0 {
				edits := []buildfile.Edit{edit(u.part, "devices", u.name, "part"), edit(l[0].At, "devices", u.name, "at")}
				if p := c.Design.Cat.Parts[u.part]; p != nil && !slices.Contains(p.Reads, u.reads[0]) {
					edits = append(edits, edit(u.reads[0], "devices", u.name, "reads"))
				}
				f.Mends = []Mend{{Title: diag.Sayf("add the %s", u.part), Edits: edits}}
			}
			return []Finding{f}
		},
	}
}

// orSay is the other way out where the build has sensors that no one has said
// the use of.
func (c *Case) orSay(what string) string {
	var silent []string
	for _, it := range c.Design.Devices {
		if it.Part.Kind == "sensor" && len(it.Reads) == 0 {
			silent = append(silent, it.Name)
		}
	}
	if len(silent) == 0 {
		return ""
	}
	return "; or if " + list(silent) + " is the one, write \"reads: " + what + "\" at it"
}

func without(device string) buildfile.Edit {
	return buildfile.Edit{Path: []string{"devices", device}, Delete: true}
}

var loadSensor = unsensed{
	id: "load-sensor", title: "nothing tells the controller how much air the engine takes",
	why:    "Fuel follows air. From the throttle's angle alone the air is known on one day at one altitude; a controller wants the manifold's pressure, or the mass of the air itself.",
	source: "speed-density relation, ṁ = ηv p V ω/(4π R T); common practice",
	bad: []buildfile.Edit{
		without("manifold pressure"), without("mass air"),
		edit("air temperature sensor", "devices", "air temperature", "part"), edit("intake", "devices", "air temperature", "at"),
	},
	good:  []buildfile.Edit{without("manifold pressure")},
	reads: []string{"manifold pressure", "air mass"},
	msg:   "no device reads the manifold's pressure or the mass of the air",
	hint:  "add a manifold pressure sensor on the plenum, or keep the mass-air sensor",
	name:  "manifold pressure", part: "manifold pressure sensor",
}.rule()

var airTemperature = unsensed{
	id: "air-temperature", title: "nothing tells the controller how warm the air is",
	why: "A manifold's pressure says how much air there is only together with its temperature: the same pressure at 50 °C holds a tenth less air than at 20 °C. " +
		"Without it the engine runs rich on a hot day and lean on a cold one.",
	source: "ideal gas law, ρ = p/(R T): 293/323 = 0.91; common practice: the mass-air sensor's own thermistor serves",
	bad:    []buildfile.Edit{without("mass air")},
	good: []buildfile.Edit{
		without("mass air"), edit("air temperature sensor", "devices", "air temperature", "part"), edit("intake", "devices", "air temperature", "at"),
	},
	reads: []string{"air temperature"},
	msg:   "no device reads the temperature of the air that the engine breathes",
	hint:  "add an air temperature sensor, or read the one inside a mass-air sensor",
	name:  "air temperature", part: "air temperature sensor",
}.rule()

var coolantSensor = unsensed{
	id: "coolant-sensor", title: "nothing tells the controller how warm the engine is",
	why:    "A cold engine wants several times the fuel to start, more until it is warm, a faster idle and another spark; a hot one wants its fans. All of that is laid over the coolant's temperature.",
	source: "common practice",
	bad:    []buildfile.Edit{without("coolant temperature")},
	good:   []buildfile.Edit{edit("temperature sensor", "devices", "coolant temperature", "part")},
	reads:  []string{"coolant temperature", "liquid temperature"}, // the latter of a device that does not say which
	msg:    "no device reads the temperature of the coolant",
	hint:   "add a temperature sensor in the head's coolant, before the thermostat",
	name:   "coolant temperature", part: "temperature sensor",
}.rule()

// syncs reports whether something tells the controller which half of the cycle
// the engine is in: a sensor at a cam, or a distributor's.
func (c *Case) syncs() bool { return c.tells("cam angle", "distributor angle") }

// gapless reports whether the crank wheel is stated and has no missing tooth.
func (c *Case) gapless() bool {
	w, ok := design.ParseWheel(c.Design.File.Engine.CrankWheel)
	return ok && w.Missing == 0
}

// noCamSensors takes the base vehicle's phasers and cam sensors out.
var noCamSensors = []buildfile.Edit{
	{Path: []string{"engine", "cams"}, Delete: true},
	edit("0°", "engine", "intake phaser"),
	without("intake phaser"), without("exhaust phaser"), without("intake cam sensor"), without("exhaust cam sensor"),
}

var camSensor = Rule{
	ID: "cam-sensor", Title: "nothing tells which half of the cycle the engine is in",
	Why: "The crankshaft passes every angle twice a cycle. Without a sensor on a cam a controller can't tell compression from exhaust: it has to spray half of the fuel at either, and fire wasted sparks. " +
		"Cylinder-by-cylinder injection and trims are not to be had.",
	Source: "geometry of the four-stroke cycle; common practice", Severity: diag.Note, Page: "engine",
	Bad:  noCamSensors,
	Good: noCamSensors[:len(noCamSensors)-1],
	Check: func(c *Case) []Finding {
		n := c.Design.File.Engine.Cylinders
		sequential := n > 1 && c.channels("injector", "injector driver") != nil
		if !sequential || c.syncs() || c.gapless() || len(c.wants(phaserDriver)) > 0 {
			return nil // without a gap either it is told by wheel-gap, with phasers by phaser-feedback
		}
		f := Finding{Target: "engine#sensors"}
		f.Pos, f.Subject = c.Design.Place("devices"), "cam sensor"
		f.Msg = diag.Sayf("every injector has a driver of its own and no sensor sits at a cam, so the controller can't time them one by one")
		f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("one cam sensor")
		f.Hint = diag.Sayf("add a cam sensor, or set the controller to spray in groups")
		f.Mends = addCamSensor(c)
		return []Finding{f}
	},
}

func addCamSensor(c *Case) []Mend {
	l := c.Design.OfKind("injector")
	if len(l) == 0 {
		return nil
	}
	return []Mend{{
		Title: diag.Sayf("add a cam sensor"),
		Edits: []buildfile.Edit{edit("cam sensor", "devices", "cam sensor", "part"), edit(l[0].At, "devices", "cam sensor", "at")},
	}}
}

var wheelGap = Rule{
	ID: "wheel-gap", Title: "the crank wheel shows no place on the crankshaft",
	Why: "Teeth that are all alike tell how fast the crankshaft turns, and nothing of where it is. A missing tooth marks one place a turn, or a cam's window one a cycle; " +
		"without either no spark can be timed.",
	Source: "common practice: 60-2, 36-1, or windows alone with a cam's signal", Severity: diag.Fix, Page: "engine",
	Bad:  append(slices.Clone(noCamSensors), edit("60", "engine", "crank wheel")),
	Good: []buildfile.Edit{edit("60", "engine", "crank wheel")},
	Check: func(c *Case) []Finding {
		if !c.gapless() || c.syncs() || len(c.wants(phaserDriver)) > 0 {
			return nil
		}
		f := Finding{Target: "engine#trigger"}
		f.Pos, f.Subject = c.Design.Place("engine", "crank wheel"), "crank wheel"
		f.Msg = diag.Sayf("the crank wheel of %s has no missing tooth and no sensor sits at a cam, so nothing marks top dead centre", counts(wheelTeeth(c), "tooth place"))
		f.Value, f.Limit = diag.Sayf("%s", c.Design.File.Engine.CrankWheel), diag.Sayf("a wheel with a gap, or a cam sensor")
		f.Hint = diag.Sayf("fit a wheel with missing teeth, or add a cam sensor")
		f.Mends = addCamSensor(c)
		return []Finding{f}
	},
}

func wheelTeeth(c *Case) int {
	w, _ := design.ParseWheel(c.Design.File.Engine.CrankWheel)
	return w.Teeth
}
