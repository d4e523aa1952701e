package rule

import (
	"slices"
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// phaser is a cam that moves, as the file or its archetype has it.
type phaser struct {
	moves  string // the valves: "intake"
	travel *figure.Input
	path   []string
}

// phasers lists the cams that a phaser moves: the file's, or as many as it says
// by the intake phaser alone, or the archetype's.
func (c *Case) phasers() []phaser {
	e := &c.Design.File.Engine
	stated := c.Design.Tree.Find("engine", "cams") != nil
	if !stated && e.PhaserRad != nil && (!e.PhaserRad.Assumed() || len(e.Cams) == 0) {
		if e.PhaserRad.SI <= 0 {
			return nil
		}
		return []phaser{{"intake", e.PhaserRad, []string{"engine", "intake phaser"}}}
	}
	var out []phaser
	for i, k := range e.Cams {
		if k.TravelRad != nil && k.TravelRad.SI > 0 {
			out = append(out, phaser{k.Moves, k.TravelRad, []string{"engine", "cams", strconv.Itoa(i), "phaser travel"}})
		}
	}
	return out
}

// phaserDriver is what a pin can do that drives a phaser's oil valve.
const phaserDriver = "phaser driver"

// devicesNamed lists the devices that have one of the words in their name or
// their part's.
func (c *Case) devicesNamed(words ...string) []design.Item {
	var out []design.Item
	for _, it := range c.Design.Devices {
		text := strings.Fields(it.Name + " " + it.Part.Name)
		if slices.ContainsFunc(words, func(w string) bool { return slices.Contains(text, w) }) {
			out = append(out, it)
		}
	}
	return out
}

// camSensors are the sensors at camshafts.
func (c *Case) camSensors() []design.Item {
	return slices.DeleteFunc(c.devicesNamed("cam"), func(it design.Item) bool { return it.Part.Kind != "sensor" })
}

// undriven picks the phaser that no device is named for, else the last.
func (c *Case) undriven(list []phaser) phaser {
	for _, p := range list {
		if !slices.ContainsFunc(c.wants(phaserDriver), func(end string) bool { return slices.Contains(strings.Fields(end), p.moves) }) {
			return p
		}
	}
	return list[len(list)-1]
}

var phaserUnused = Rule{
	ID: "phaser-unused", Title: "a cam phaser is left undriven",
	Why: "A phaser without oil pressure on its command stays at one end. The engine then has the valve timing of idle at every speed and gives away torque in the middle; and one that is not pinned rattles, " +
		"or wanders where the calibration does not follow. A controller that can drive it should: locking it out is for one that can't.",
	Source: "common practice", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("30°", "engine", "cams", "1", "phaser travel"), {Path: []string{"devices", "exhaust phaser"}, Delete: true}},
	Good: []buildfile.Edit{edit("30°", "engine", "cams", "1", "phaser travel")},
	Check: func(c *Case) []Finding {
		list := c.phasers()
		driven := len(c.wants(phaserDriver)) // one that finds no pin is told by pin-short
		if driven >= len(list) || !c.unitCan(phaserDriver) {
			return nil
		}
		p := c.undriven(list)
		f := Finding{Target: "engine#cams"}
		f.Pos, f.Subject = c.Design.Place(p.path...), "phaser, "+p.moves
		f.Msg = diag.Sayf("the %s cam's phaser moves it by %v and nothing drives it: %s, %d driven", p.moves, input(p.travel), counts(len(list), "phaser"), driven)
		f.Value, f.Limit = diag.Sayf("%d driven", driven), diag.Sayf("%d", len(list))
		f.Hint = diag.Sayf("add the phaser's solenoid to the devices; if the engine has none, state a travel of 0°")
		name := p.moves + " phaser"
		if l := c.Design.OfKind("injector"); len(l) > 0 && c.Design.Tree.Find("devices", name) == nil {
			f.Mends = []Mend{{
				Title: diag.Sayf("add the %s", name),
				Edits: []buildfile.Edit{edit("phaser solenoid", "devices", name, "part"), edit(l[0].At, "devices", name, "at")},
			}}
		}
		return []Finding{f}
	},
}

var phaserFeedback = Rule{
	ID: "phaser-feedback", Title: "a driven phaser has no sensor on its cam",
	Why: "A phaser is held at an angle by oil that leaks: the controller reads where the cam is and corrects many times a second. Without a sensor on that cam it can only open or shut the valve, " +
		"the cam goes to one end, and spark and fuel are laid for an angle that it is not at.",
	Source: "common practice: a cam sensor for each cam that moves", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{{Path: []string{"devices", "exhaust cam sensor"}, Delete: true}},
	Good: []buildfile.Edit{edit("magnetic cam sensor", "devices", "exhaust cam sensor", "part")},
	Check: func(c *Case) []Finding {
		driven, sensors := len(c.wants(phaserDriver)), len(c.camSensors())
		if driven <= sensors {
			return nil
		}
		f := Finding{Target: "engine#cams"}
		f.Pos, f.Subject = c.Design.Place("devices"), "cam sensors"
		f.Msg = diag.Sayf("%s to drive and %s: where every cam stands is not known", counts(driven, "phaser"), counts(sensors, "cam sensor"))
		f.Value, f.Limit = diag.Sayf("%s", counts(sensors, "cam sensor")), diag.Sayf("%d, one for each phaser", driven)
		f.Hint = diag.Sayf("add a cam sensor for each cam that a phaser moves")
		return []Finding{f}
	},
}
