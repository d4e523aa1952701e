package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// interlock makes the two rules about starting in gear.
func interlock(r Rule, kind string) Rule {
	with := edit(kind, "gearbox", "kind")
	r.Source, r.Page = "common practice; local inspection rules", "driveline"
	r.Bad = []buildfile.Edit{with, edit("not wired", "gearbox", "start interlock")}
	r.Good = []buildfile.Edit{with, edit("wired", "gearbox", "start interlock")}
	if kind == "manual" { // which nothing runs
		run := buildfile.Edit{Path: []string{"gearbox", "run by"}, Delete: true}
		r.Bad, r.Good = append(r.Bad, run), append(r.Good, run)
	}
	r.Check = func(c *Case) []Finding {
		g := c.Design.File.Gearbox
		if g == nil || g.Kind != kind || g.Interlock == "wired" {
			return nil
		}
		unsaid := g.Interlock == ""
		if unsaid && (kind == "manual" || c.tells("selector", "neutral") || c.leadIs("start interlock") == "connected") {
			return nil // something is there that can be it
		}
		f := Finding{Target: "driveline#gearbox"}
		f.Pos, f.Subject = c.Design.Place("gearbox", "start interlock"), "gearbox, start interlock"
		f.Value, f.Limit = diag.Sayf("%s", g.Interlock), diag.Sayf("wired")
		f.Msg = diag.Sayf("the starter works with a gear engaged")
		f.Hint = diag.Sayf("wire the range switch into the start circuit, so that it starts in park and neutral only")
		if kind == "manual" {
			f.Msg = diag.Sayf("the starter works with a gear engaged and the clutch up")
			f.Hint = diag.Sayf("wire a clutch switch into the start circuit, or learn to start in neutral")
		}
		if unsaid {
			f.Msg = diag.Sayf("nothing keeps the starter from working with a gear engaged")
			f.Value = diag.Sayf("no range switch and no lead")
		}
		return []Finding{f}
	}
	return r
}

var startInterlock = interlock(Rule{
	ID: "start-interlock", Title: "an automatic can be started in gear", Severity: diag.Stop,
	Why: "An automatic that starts in gear drives off by itself, with whoever stands before it, or off the stands with whoever lies under it.",
}, "automatic")

var clutchInterlock = interlock(Rule{
	ID: "clutch-interlock", Title: "a manual can be started in gear", Severity: diag.Note,
	Why: "A modern engine fires within a turn. Where older ones only lurched on the starter, it drives off in gear. A switch at the clutch pedal costs little.",
}, "manual")

var starterRunaway = Rule{
	ID: "starter-runaway", Title: "the starter turns whenever there is voltage",
	Why: "The starter's solenoid is to be live in the key's start position only. On terminal 30 the starter turns as soon as the battery is connected; on 15 or 75 it turns with the key on, " +
		"and goes on turning with the engine running until it flies apart.",
	Source: "DIN 72552, terminal 50", Severity: diag.Stop, Page: "power",
	Bad:  []buildfile.Edit{edit("15", "loom", "feeds", "starter", "from")},
	Good: []buildfile.Edit{edit("start", "loom", "feeds", "starter", "relay")},
	Check: func(c *Case) []Finding {
		fs := c.feedOff("starter", []string{"30", "15", "75"}, "the starter's solenoid hangs on a terminal that is live without the start position", "50, or 87 of the start relay")
		for i := range fs {
			fs[i].Hint = diag.Sayf("feed it by the start relay, whose coil hangs on terminal 50")
			fs[i].Mends = c.ontoRelay("starter", "start")
		}
		return fs
	},
}

// ontoRelay offers to take a feed from a relay instead of what the file says.
func (c *Case) ontoRelay(feed, relay string) []Mend {
	m := Mend{Title: diag.Sayf("%s from the %s relay", feed, relay)}
	if c.Design.Tree.Find("loom", "feeds", feed, "from") != nil {
		m.Edits = append(m.Edits, buildfile.Edit{Path: []string{"loom", "feeds", feed, "from"}, Delete: true})
	}
	m.Edits = append(m.Edits, edit(relay, "loom", "feeds", feed, "relay"))
	return []Mend{m}
}

var mainDirect = Rule{
	ID: "main-direct", Title: "the controller's main supply does not come straight from the battery",
	Why: "A controller drives injectors, coils and its throttle from its main supply, ten amperes and more in pulses. Through the key switch and its old wires that drops a volt, and moves with every lamp; " +
		"and when the key is turned off the unit dies before its throttle has parked and its memory is saved.",
	Source: "common practice: main supply and ground straight to the battery, switched by the main relay", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("15", "loom", "feeds", "controller", "from")},
	Good: []buildfile.Edit{edit("main", "loom", "feeds", "controller", "relay")},
	Check: func(c *Case) []Finding {
		fs := c.feedOff("controller", []string{"15", "75", "50"}, "the controller's main supply comes through the key switch", "30, through the main relay")
		for i := range fs {
			fs[i].Hint = diag.Sayf("feed it from the battery through the main relay")
			fs[i].Mends = c.ontoRelay("controller", "main")
		}
		return fs
	},
}

var powerGround = Rule{
	ID: "power-ground", Title: "the controller's power ground goes to the body",
	Why: "Injectors, phasers and the throttle's motor return through the controller's power ground. On the body their current comes back through panels, seams and the body strap, " +
		"and the controller's zero moves against the engine that its sensors are screwed into.",
	Source: "common practice: main supply and ground straight to the battery, the ground by way of the engine", Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("body", "loom", "grounds", "power", "joins")},
	Good: []buildfile.Edit{edit("power", "loom", "grounds", "power", "joins")},
	Check: func(c *Case) []Finding {
		i := slices.IndexFunc(c.Design.File.Loom.Grounds, func(g buildfile.Named[design.GroundFix]) bool { return g.Name == "power" && g.Value.Joins == "body" })
		if i < 0 {
			return nil
		}
		f := Finding{Target: "power#grounds"}
		f.Pos, f.Subject = c.Design.Place("loom", "grounds", "power", "joins"), "power ground"
		f.Msg = diag.Sayf("the power grounds return to the body instead of the engine and the battery")
		f.Value, f.Limit = diag.Sayf("body"), diag.Sayf("power")
		f.Hint = diag.Sayf("take them to a bolt on the engine, where the battery's strap is")
		f.Mends = to("power ground: power", "power", "loom", "grounds", "power", "joins")
		return []Finding{f}
	},
}
