package rule

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/diag"
)

// lead is one of the loose leads that a swap can't do without.
type lead struct {
	name   string
	wanted func(c *Case) bool
	served func(c *Case) bool // by a device, so that no lead of the old vehicle is needed
	why    string
}

// wantedLeads are the leads, the gravest first.
var wantedLeads = []lead{
	{
		"start interlock", (*Case).automatic, func(c *Case) bool { return c.tells("selector", "neutral") },
		"without it the starter turns the engine in gear",
	},
	{
		"switched supply", func(*Case) bool { return true }, func(c *Case) bool { return len(c.Loom.Loose) == 0 },
		"without it the controller never wakes",
	},
	{
		"pump", func(*Case) bool { return true }, func(c *Case) bool { return len(c.Design.OfKind("pump")) > 0 },
		"without it the rail stays empty",
	},
	{
		"brake switch", func(c *Case) bool { return c.Design.File.Engine.Throttle == "electronic" || c.shifted() },
		func(c *Case) bool { return c.tells("brake pedal") },
		"without it the controller can't tell a stuck pedal from a driver who brakes, nor open the converter clutch in time",
	},
}

var leadMissing = Rule{
	ID: "lead-missing", Title: "a loose lead that the swap needs is not accounted for",
	Why: "The new engine asks a few things of the old vehicle: a supply that stays live while cranking, the pump, the brake pedal when the throttle is electronic, park and neutral when the gearbox is automatic. " +
		"Where one of them was left out, the engine starts in gear, does not start, or falls back to a limp.",
	Source: "common practice: list every loose lead, and what becomes of it", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{
		{Path: []string{"devices", "brake switch"}, Delete: true},
		edit("insulated", "loose leads", "tachometer", "is"),
	},
	Good: []buildfile.Edit{
		edit("brake switch", "devices", "brake switch", "part"),
		edit("insulated", "loose leads", "tachometer", "is"),
	},
	Check: checkLeadMissing,
}

func checkLeadMissing(c *Case) []Finding {
	leads := c.Design.File.Leads
	if len(leads) == 0 {
		return nil // the section is not used
	}
	var out []Finding
	for _, l := range wantedLeads {
		if !l.wanted(c) || l.served(c) || c.leadIs(l.name) == "connected" {
			continue
		}
		f := Finding{Target: "power#loose-leads"}
		f.Pos, f.Subject = c.Design.Place("loose leads", l.name), "lead, "+l.name
		is := c.leadIs(l.name)
		f.Msg = diag.Sayf("the loose lead %q is not accounted for, and no device stands in for it", l.name)
		if is == "" {
			is = "not named"
		} else {
			f.Msg = diag.Sayf("the loose lead %q is %s, and no device stands in for it", l.name, is)
		}
		f.Value, f.Limit = diag.Sayf("%s", is), diag.Sayf("connected")
		f.Why = diag.Sayf("%s%s.", strings.ToUpper(l.why[:1]), l.why[1:])
		f.Hint = diag.Sayf("connect it to the device that it belongs to, or add that device")
		out = append(out, f)
	}
	return out
}

// leadIs is what has become of a lead; empty when it is not named.
func (c *Case) leadIs(name string) string {
	for _, l := range c.Design.File.Leads {
		if l.Name == name {
			return l.Value.Is
		}
	}
	return ""
}

// reverseFeed is the feed group of the reverse lamps.
const reverseFeed = "reverse"

var reverseLamp = Rule{
	ID: "reverse-lamp", Title: "nothing lights the reverse lamps",
	Why: "The old gearbox carried a switch for the lamps. With another gearbox the controller lights them, and it knows reverse from the range switch of an automatic " +
		"or from a switch on a manual. Without either they stay dark, which an inspection finds.",
	Source: "common practice; UN Regulation 48: reversing lamps light in reverse only (from memory)", Severity: diag.Note, Page: "driveline",
	Bad: []buildfile.Edit{
		{Path: []string{"devices", "range switch"}, Delete: true}, edit("hydraulics", "gearbox", "run by"),
	},
	Good: []buildfile.Edit{
		edit("reverse switch", "devices", "range switch", "part"), edit("hydraulics", "gearbox", "run by"),
	},
	Check: func(c *Case) []Finding {
		var lamps []string
		var f Finding
		for _, it := range c.Design.Devices {
			if slices.ContainsFunc(it.Part.Terminals, func(t buildfile.Named[catalogue.Terminal]) bool { return t.Value.Feed == reverseFeed }) {
				if len(lamps) == 0 {
					f.Pos = it.Pos
				}
				lamps = append(lamps, it.Name)
			}
		}
		if len(lamps) == 0 || c.tells("selector", "reverse") {
			return nil
		}
		if c.Design.File.Gearbox != nil {
			f.Pos = c.Design.Place("gearbox")
		}
		f.Target, f.Subject = "driveline#gearbox", "reverse lamps"
		f.Msg = diag.Sayf("%s hang on the reverse relay, and no device tells the controller of reverse", list(lamps))
		if len(lamps) == 1 {
			f.Msg = diag.Sayf("%s hangs on the reverse relay, and no device tells the controller of reverse", lamps[0])
		}
		f.Value, f.Limit = diag.Sayf("no switch"), diag.Sayf("a reverse switch, or a range switch")
		f.Hint = diag.Sayf("add the gearbox's reverse switch to the devices")
		return []Finding{f}
	},
}

// coilPulse is what a rev counter from before electronic ignition wants.
const coilPulse = "coil pulse"

var tachSignal = Rule{
	ID: "tach-signal", Title: "the old rev counter finds no coil to count",
	Why: "An old rev counter counts the pulses of some hundred volts at terminal 1 of the one coil. With a coil on each cylinder there is no such terminal, " +
		"and a controller's output of 5 or 12 V does not move the needle.",
	Source: "common practice: an adapter that makes the pulses, or a gauge for the controller's signal", Severity: diag.Note, Page: "power",
	Bad:  []buildfile.Edit{edit("old tachometer", "devices", "tachometer", "part")},
	Good: []buildfile.Edit{edit("old tachometer", "devices", "tachometer", "part"), edit("tachometer adapter", "devices", "tachometer adapter", "part"), edit("dash", "devices", "tachometer adapter", "at")},
	Check: func(c *Case) []Finding {
		var out []Finding
		for _, it := range c.Design.Devices {
			i := slices.IndexFunc(it.Part.Terminals, func(t buildfile.Named[catalogue.Terminal]) bool { return t.Value.Needs == coilPulse })
			if i < 0 || c.hasPin(it.Name+" "+it.Part.Terminals[i].Name) {
				continue
			}
			f := Finding{Target: "loom#pins"}
			f.Pos, f.Subject = it.Pos, it.Name
			f.Msg = diag.Sayf("%q wants the pulses of a coil's terminal 1, and nothing makes them", it.Name)
			f.Value, f.Limit = diag.Sayf("no pulses"), diag.Sayf("a coil's terminal 1, or an adapter")
			f.Hint = diag.Sayf("add an adapter between it and the controller's tachometer output")
			f.Mends = coilPulses(c, it.Written, it.At)
			out = append(out, f)
		}
		return out
	},
}

// hasPin reports whether a terminal found a pin.
func (c *Case) hasPin(end string) bool {
	_, ok := c.pinOf(end)
	return ok
}

// coilPulses offers the catalogue's units that make a coil's pulses.
func coilPulses(c *Case, device, at string) []Mend {
	var out []Mend
	for _, name := range c.Design.Cat.PartNames() {
		p := c.Design.Cat.Parts[name]
		if p.Kind == "controller" || !partCan(p, coilPulse) || c.Design.Tree.Find("devices", name) != nil {
			continue
		}
		out = append(out, Mend{
			Title: diag.Sayf("a %s before the %s", name, device),
			Edits: []buildfile.Edit{edit(name, "devices", name, "part"), edit(at, "devices", name, "at")},
		})
	}
	return out
}
