package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// leastSystemV is the lowest system voltage that a 12 V controller is fed from.
const leastSystemV = 11.0

var sixVolt = Rule{
	ID: "six-volt", Title: "the vehicle's system has not the controller's voltage",
	Why:    "Controller, injectors, coils and pump are made for 12 V. At 6 V none of them works; at 24 V they burn.",
	Source: "common practice", Severity: diag.Stop, Page: "power",
	Bad: []buildfile.Edit{edit("6 V", "electrical", "system voltage")}, Good: []buildfile.Edit{edit("12 V", "electrical", "system voltage")},
	Check: func(c *Case) []Finding {
		e := c.Design.File.Electrical
		if e == nil || e.SystemV == nil || e.SystemV.SI >= leastSystemV && e.SystemV.SI <= 15 {
			return nil
		}
		f := at(e.SystemV, "power", "system voltage", diag.Sayf("the vehicle has %v; the electronics are made for 12 volts", input(e.SystemV)),
			diag.Sayf("%v", input(e.SystemV)), diag.Sayf("12 volts"), "convert the vehicle to 12 volts: battery, generator, lamps, motors")
		return []Finding{f}
	},
}

var leadOpen = Rule{
	ID: "lead-open", Title: "a loose lead hangs open",
	Why:    "A lead that once fed something is often still live. Bare and loose it finds the body, and burns what lies beside it until its fuse opens, if it has one.",
	Source: "common practice", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{edit("open", "loose leads", "tachometer", "is")}, Good: []buildfile.Edit{edit("insulated", "loose leads", "tachometer", "is")},
	Check: func(c *Case) []Finding {
		var out []Finding
		for _, l := range c.Design.File.Leads {
			if l.Value.Is != "open" {
				continue
			}
			f := Finding{Target: "power#loose-leads"}
			f.Pos, f.Subject = c.Design.Place("loose leads", l.Name, "is"), "lead, "+l.Name
			f.Msg = diag.Sayf("the loose lead %q hangs open", l.Name)
			f.Value, f.Limit = diag.Sayf("open"), diag.Sayf("connected or insulated")
			f.Hint = diag.Sayf("connect it, or cut it back and insulate its end")
			out = append(out, f)
		}
		return out
	},
}

// Feeds that must not hang on just any terminal.
var memoryDead = Rule{
	ID: "memory-dead", Title: "the controller's memory supply goes dead with the key",
	Why:    "Learned trims and the throttle's end stops are kept by a supply that is always live. On a switched terminal they are lost at every stop, and the throttle may be cut off before it has parked.",
	Source: "DIN 72552 terminal 30; common practice", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{edit("15", "loom", "feeds", "memory", "from")}, Good: []buildfile.Edit{edit("30", "loom", "feeds", "memory", "from")},
	Check: func(c *Case) []Finding {
		return c.feedOff("memory", []string{"15", "75", "50"}, "the controller's memory hangs on a terminal that dies with the key", "30")
	},
}

// feedOff finds a feed that the file hangs on one of the terminals it must not be on.
func (c *Case) feedOff(feed string, bad []string, msg, good string) []Finding {
	for _, v := range c.Design.File.Loom.Feeds {
		if v.Name != feed || !slices.Contains(bad, v.Value.From) {
			continue
		}
		f := Finding{Target: "power#feed-" + feed}
		f.Pos, f.Subject = c.Design.Place("loom", "feeds", feed, "from"), "feed "+feed
		f.Msg = diag.Sayf("%s", msg)
		f.Value, f.Limit = diag.Sayf("terminal %s", v.Value.From), diag.Sayf("terminal %s", good)
		f.Hint = diag.Sayf("take it from terminal %s", good)
		f.Mends = to("feed "+feed+" from terminal "+good, good, "loom", "feeds", feed, "from")
		return []Finding{f}
	}
	return nil
}

var parkedDrain = explained(marginRule(Rule{
	ID: "parked-drain", Title: "the parked vehicle flattens its battery",
	Why:    "What draws with the key off draws all the time. Beyond some 50 mA a battery that stood for a few weeks no longer cranks.",
	Source: "common practice: below 50 mA", Severity: diag.Fix, Page: "power",
	Bad:   []buildfile.Edit{edit("alarm", "devices", "alarm", "part"), edit("dash", "devices", "alarm", "at")},
	Good:  []buildfile.Edit{edit("radio", "devices", "radio", "part")},
	Parts: map[string]string{"parts/alarm.yaml": "part: alarm\nkind: unit\nis: an alarm that never sleeps\nsource: invented for this example\nterminals:\n  1: {role: feed, feed: memory}\n  2: {role: ground, ground: body}\nloads:\n  - {from: \"1\", to: \"2\", model: current, current: 0.2 A ± 10 %, drop-out: 5 V ± 10 %, on: [parked]}\n"},
}, design.Parked, "battery", "CurrentA", "the parked vehicle draws %v; %v are the most", "find what draws with the key off and put it behind the key",
	func(c *Case) diag.Pos { return c.Design.Place("devices", parkedDevice(c)) }),
	func(c *Case) diag.Phrase {
		t, err := c.Result.Vehicle.FlatS(c.Result.State(design.Parked).Point.BatteryA)
		if err != nil {
			return nil
		}
		return diag.Sayf("The battery no longer cranks after about %v.", say("parked/battery/FlatS", t, "h"))
	})

// parkedDevice is the device that draws most with the key off.
func parkedDevice(c *Case) string {
	s := c.Result.State(design.Parked)
	most, name := 0.0, c.Design.One("battery").Written
	for _, it := range c.Design.Devices {
		if a, ok := s.ConsumerA(it.Name); ok && a > most {
			most, name = a, it.Written
		}
	}
	return name
}
