package rule

import (
	"slices"
	"strconv"
	"strings"

	"fettle/internal/buildfile"
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

// undriven picks the phaser that no device is named for, and whether the names
// tell it: else any may be the one.
func (c *Case) undriven(list []phaser) (p phaser, told bool) {
	p = list[len(list)-1]
	named := 0
	for i := len(list) - 1; i >= 0; i-- {
		if slices.ContainsFunc(c.wants(phaserDriver), func(end string) bool { return slices.Contains(strings.Fields(end), list[i].moves) }) {
			named++
		} else {
			p = list[i]
		}
	}
	return p, named >= len(c.wants(phaserDriver))
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
		p, told := c.undriven(list)
		f := Finding{Target: "engine#cams"}
		f.Pos, f.Subject = c.Design.Place(p.path...), "phaser, "+p.moves
		f.Msg = diag.Sayf("the %s cam's phaser moves it by %v and nothing drives it: %s, %d driven", p.moves, input(p.travel), counts(len(list), "phaser"), driven)
		if !told {
			f.Subject, f.Msg = "phasers", diag.Sayf("the engine has %s and drives %d", counts(len(list), "phaser"), driven)
		}
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
		driven, sensors := len(c.wants(phaserDriver)), len(c.Design.Telling("cam angle"))
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
