package rule

import (
	"math"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/pipeflow"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// at makes a finding about an input of the file.
func at(in *figure.Input, page, subject string, msg, value, limit diag.Phrase, hint string) Finding {
	f := Finding{Target: page + "#" + strings.ReplaceAll(subject, " ", "-")}
	f.Pos, f.Subject, f.Msg, f.Value, f.Limit, f.Hint = in.Pos, subject, msg, value, limit, diag.Sayf("%s", hint)
	return f
}

// to offers one edit as the mend.
func to(title, text string, path ...string) []Mend {
	return []Mend{{Title: diag.Sayf("%s", title), Edits: []buildfile.Edit{{Path: path, Text: text}}}}
}

func edit(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }

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

var canEnds = Rule{
	ID: "can-ends", Title: "the CAN bus has not two terminators",
	Why:    "The bus is a line whose ends must swallow the signal. With one or three terminators of 120 Ω it reflects or is pulled down, and messages are lost now and then.",
	Source: "ISO 11898-2: 120 Ω at each end, 60 Ω measured across the bus with the power off", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{edit("1", "can bus", "terminators")}, Good: []buildfile.Edit{edit("2", "can bus", "terminators")},
	Check: func(c *Case) []Finding {
		n := c.Design.Tree.Find("can bus", "terminators")
		if n == nil || c.Design.File.Bus.Terminators == 2 {
			return nil
		}
		f := Finding{Target: "power#can-bus"}
		f.Pos, f.Subject = n.Pos, "can bus, terminators"
		f.Msg = diag.Sayf("the CAN bus has %d terminators; it wants one at each end", c.Design.File.Bus.Terminators)
		f.Value, f.Limit = diag.Sayf("%d", c.Design.File.Bus.Terminators), diag.Sayf("2")
		f.Hint = diag.Sayf("put one at each end of the bus, and count those inside the control units")
		return []Finding{f}
	},
}

// Seats of sensors (common practice).
const (
	leastTiltRad  = 10 * math.Pi / 180
	knockLeastNm  = 15
	knockMostNm   = 25
	mostStubM     = 0.3
	mostPistonMPS = 25
)

var lambdaTilt = Rule{
	ID: "lambda-tilt", Title: "the lambda sensor lies too flat",
	Why:    "Condensed water runs to the lowest place. A sensor that lies flat or hangs collects it, and cracks when it is heated.",
	Source: "common practice: at least 10° above horizontal", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("2°", "fitting", "lambda sensor", "above horizontal")},
	Good: []buildfile.Edit{edit("15°", "fitting", "lambda sensor", "above horizontal")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Fitting == nil || c.Design.File.Fitting.Lambda == nil || c.Design.File.Fitting.Lambda.TiltRad == nil {
			return nil
		}
		in := c.Design.File.Fitting.Lambda.TiltRad
		if in.SI >= leastTiltRad-1e-9 {
			return nil
		}
		return []Finding{at(in, "engine", "lambda sensor, above horizontal", diag.Sayf("the lambda sensor stands %v above horizontal; ten degrees are the least", input(in)),
			diag.Sayf("%v", input(in)), diag.Sayf("at least ten degrees"), "turn its boss so that the plug end stands at least ten degrees up")}
	},
}

var knockTorque = Rule{
	ID: "knock-torque", Title: "the knock sensor is not at its torque",
	Why:    "Too loose, the sensor rattles on its boss; too tight, its ceramic ring is strained and its answer falls.",
	Source: "common practice: 20 ± 5 N·m", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("45 Nm", "fitting", "knock sensor", "torque")},
	Good: []buildfile.Edit{edit("20 Nm", "fitting", "knock sensor", "torque")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Fitting == nil || c.Design.File.Fitting.Knock == nil || c.Design.File.Fitting.Knock.TorqueNm == nil {
			return nil
		}
		in := c.Design.File.Fitting.Knock.TorqueNm
		if in.SI >= knockLeastNm && in.SI <= knockMostNm {
			return nil
		}
		f := at(in, "engine", "knock sensor, torque", diag.Sayf("the knock sensor is tightened to %v; 20 newton metres, five more or less, are usual", input(in)),
			diag.Sayf("%v", input(in)), diag.Sayf("20 newton metres, five more or less"), "loosen it and tighten it to its torque with a wrench that shows it")
		return []Finding{f}
	},
}

var canStub = Rule{
	ID: "can-stub", Title: "a branch of the CAN bus is long",
	Why:    "A branch without an end of its own reflects. At the bus's highest speed a branch of more than a hand's breadth or two disturbs the next bit.",
	Source: "ISO 11898-2 (from memory): 0.3 m at 1 Mbit/s", Severity: diag.Note, Page: "power",
	Bad:  []buildfile.Edit{edit("1.5 m", "can bus", "longest stub"), edit("2", "can bus", "terminators")},
	Good: []buildfile.Edit{edit("0.2 m", "can bus", "longest stub"), edit("2", "can bus", "terminators")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Bus == nil || c.Design.File.Bus.StubM == nil || c.Design.File.Bus.StubM.SI <= mostStubM {
			return nil
		}
		in := c.Design.File.Bus.StubM
		return []Finding{at(in, "power", "can bus, longest stub", diag.Sayf("a branch of the CAN bus is %v long", input(in)),
			diag.Sayf("%v", input(in)), diag.Sayf("at most 30 centimetres at the highest speed"), "lead the bus past the device instead of branching to it")}
	},
}

var hoseClass = Rule{
	ID: "hose-class", Title: "the fuel hose is not made for the rail's pressure",
	Why:    "A hose for carburettors holds three bar when it is new and cold. On an injection system it bursts, over a hot exhaust as like as not.",
	Source: "SAE J30 (classes; pressures from memory)", Severity: diag.Stop, Page: "fuel",
	Bad: []buildfile.Edit{edit("R7", "fuel system", "hose class")}, Good: []buildfile.Edit{edit("R9", "fuel system", "hose class")},
	Check: func(c *Case) []Finding {
		s := &c.Design.File.System
		n := c.Design.Tree.Find("fuel system", "hose class")
		if n == nil {
			return nil
		}
		rated, err := pipeflow.HoseRatedPa(s.Hose, s.BoreM.SI)
		if err == nil && rated >= s.SetPa.SI {
			return nil
		}
		f := Finding{Target: "fuel#hose"}
		f.Pos, f.Subject = n.Pos, "fuel system, hose class"
		f.Msg = diag.Sayf("hose class %s does not hold the rail's %v", s.Hose, input(s.SetPa))
		f.Value, f.Limit = diag.Sayf("%s", s.Hose), diag.Sayf("a class for injection, R9")
		f.Hint = diag.Sayf("take R9 throughout, and R10 where it lies in fuel; relieve the pressure before any line is opened")
		return []Finding{f}
	},
}

var camClearance = Rule{
	ID: "cam-clearance", Title: "a changed cam's piston clearance is not measured",
	Why:    "A cam with more lift or another phase brings the valves closer to the piston, and a phaser moves them further. Where they meet the engine is lost at the first turn.",
	Source: "common practice: measured with clay or a dial over the phaser's whole travel", Severity: diag.Stop, Page: "engine",
	Bad:  []buildfile.Edit{edit("yes", "engine", "cams", "0", "changed")},
	Good: []buildfile.Edit{edit("no", "engine", "cams", "0", "changed")},
	Check: func(c *Case) []Finding {
		var out []Finding
		for _, k := range c.Design.File.Engine.Cams {
			if !k.Changed || k.Clearance == "measured" {
				continue
			}
			f := Finding{Target: "engine#cams"}
			f.Pos, f.Subject = k.Pos, "cam, "+k.Moves
			f.Msg = diag.Sayf("the changed %s cam's clearance to the pistons has not been measured", k.Moves)
			f.Value, f.Limit = diag.Sayf("not measured"), diag.Sayf("measured over the phaser's whole travel")
			f.Hint = diag.Sayf("turn the engine by hand with the phaser at both ends and measure, before the starter turns it")
			out = append(out, f)
		}
		return out
	},
}

var pedalTracks = Rule{
	ID: "pedal-tracks", Title: "the electronic throttle has no two-track pedal",
	Why:    "An electronic throttle does what the pedal's voltage says. One track can't tell a broken wire from a driver's foot; two that must agree can, and the engine falls back to idle instead of running away.",
	Source: "common practice: two pedal tracks with a plausibility check", Severity: diag.Stop, Page: "engine",
	Bad:  []buildfile.Edit{{Path: []string{"devices", "pedal"}, Delete: true}, edit("electronic", "engine", "throttle")},
	Good: []buildfile.Edit{edit("electronic", "engine", "throttle")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Engine.Throttle != "electronic" || c.hasNeed("analogue", "pedal") {
			return nil
		}
		f := Finding{Target: "engine#throttle"}
		f.Pos, f.Subject = c.Design.Place("engine", "throttle"), "pedal"
		f.Msg = diag.Sayf("the throttle is electronic and no device is a pedal with two tracks")
		f.Value, f.Limit = diag.Sayf("no pedal"), diag.Sayf("two tracks")
		f.Hint = diag.Sayf("add the pedal that belongs to the throttle; its part is called two-track pedal")
		return []Finding{f}
	},
}

// hasNeed reports whether some part whose name holds a word has two inputs of a kind.
func (c *Case) hasNeed(needs, word string) bool {
	for _, it := range c.Design.Devices {
		n := 0
		for _, t := range it.Part.Terminals {
			if t.Value.Needs == needs {
				n++
			}
		}
		if n >= 2 && strings.Contains(it.Part.Name, word) {
			return true
		}
	}
	return false
}

var crankSensor = Rule{
	ID: "crank-sensor", Title: "no device tells the controller where the crankshaft is",
	Why:    "Spark and fuel are timed by the crankshaft. Without its sensor a controller fires nothing, and must not run the pump.",
	Source: "common practice", Severity: diag.Fix, Page: "engine",
	Bad: []buildfile.Edit{{Path: []string{"devices", "crank sensor"}, Delete: true}}, Good: []buildfile.Edit{edit("crank sensor", "devices", "crank sensor", "part")},
	Check: func(c *Case) []Finding {
		for _, it := range c.Design.Devices {
			if strings.Contains(it.Part.Name, "crank") || strings.Contains(it.Name, "crank") {
				return nil
			}
		}
		f := Finding{Target: "engine#sensors"}
		f.Pos, f.Subject = c.Design.Place("devices"), "crank sensor"
		f.Msg = diag.Sayf("no device is a crankshaft sensor, so nothing can be timed")
		f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("one")
		f.Hint = diag.Sayf("add the sensor that reads the crank wheel")
		return []Finding{f}
	},
}

var bankOne = Rule{
	ID: "bank-one", Title: "bank 1 does not hold cylinder 1",
	Why:    "Every sensor and channel is named by its bank. Where bank 1 is taken for the driver's or the passenger's side, the two lambda sensors trim each other's bank until both are as wrong as they can get.",
	Source: "common practice: bank 1 is the one that holds cylinder 1", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("V", "engine", "layout"), edit("2", "engine", "bank 1")},
	Good: []buildfile.Edit{edit("V", "engine", "layout"), edit("1", "engine", "bank 1")},
	Check: func(c *Case) []Finding {
		b := c.Design.File.Engine.BankOne
		if len(b) == 0 || slices.Contains(b, 1) {
			return nil
		}
		f := Finding{Target: "engine#banks"}
		f.Pos, f.Subject = c.Design.Place("engine", "bank 1"), "bank 1"
		f.Msg = diag.Sayf("bank 1 is written without cylinder 1")
		f.Value, f.Limit = diag.Sayf("cylinders %s", numbers(b)), diag.Sayf("the bank that holds cylinder 1")
		f.Hint = diag.Sayf("exchange the banks: bank 1 holds cylinder 1, whichever side it is on")
		return []Finding{f}
	},
}

func numbers(list []int) string {
	words := make([]string, len(list))
	for i, n := range list {
		words[i] = string(rune('0' + n%10))
		if n > 9 {
			words[i] = "1" + words[i]
		}
	}
	return strings.Join(words, ", ")
}

var pistonSpeed = Rule{
	ID: "piston-speed", Title: "the speed limit asks much of the pistons",
	Why:    "The forces in rod and bolts grow with the square of the piston's speed. Beyond some 25 m/s mean only engines made for it last.",
	Source: "Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2 (from memory): 8 to 15 m/s for road engines; 25 m/s common practice for racing", Severity: diag.Note, Page: "engine",
	Bad: []buildfile.Edit{edit("9000 rpm", "engine", "speed limit")}, Good: []buildfile.Edit{edit("6400 rpm", "engine", "speed limit")},
	Check: func(c *Case) []Finding {
		e := &c.Design.File.Engine
		mean := 2 * e.StrokeM.SI * e.LimitRadPerS.SI / (2 * math.Pi)
		if mean <= mostPistonMPS {
			return nil
		}
		return []Finding{at(e.LimitRadPerS, "engine", "engine, speed limit", diag.Sayf("at the limit of %v with a stroke of %v the pistons go faster than 25 metres a second in the mean", input(e.LimitRadPerS), input(e.StrokeM)),
			diag.Sayf("%v", input(e.LimitRadPerS)), diag.Sayf("a mean piston speed of at most 25 metres a second"), "lower the speed limit")}
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

var boostReference = Rule{
	ID: "boost-reference", Title: "the rail of a boosted engine is referred to the atmosphere",
	Why:    "Boost in the manifold pushes against the injector. A rail held above the atmosphere loses as much pressure across the injector as there is boost, and with it fuel, just where most is wanted: 10.6 % at 4.0 bar and 0.8 bar of boost.",
	Source: "square-root law of the injector", Severity: diag.Stop, Page: "fuel",
	Bad: append(slices.Clone(boosted[:1]), edit("atmosphere", "fuel system", "regulator reference")), Good: slices.Clone(boosted[:2]),
	Check: func(c *Case) []Finding {
		b, s := c.Design.File.Boost, &c.Design.File.System
		corrected := c.Design.File.Data != nil && c.Design.File.Data.Corrects
		if b == nil || s.Reference != "atmosphere" || corrected {
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

var injectorTwice = Rule{
	ID: "injector-data-twice", Title: "the injector's data are corrected twice",
	Why:    "Flow carried to the rail's pressure by hand and again by the controller is off by the root of the pressures once more than it should be, and nobody looks for it.",
	Source: "square-root law of the injector; common practice", Severity: diag.Fix, Page: "fuel",
	Bad:  []buildfile.Edit{edit("3 bar", "injector data", "entered for"), edit("yes", "injector data", "controller corrects"), edit("yes", "injector data", "carried by hand")},
	Good: []buildfile.Edit{edit("3 bar", "injector data", "entered for"), edit("yes", "injector data", "controller corrects"), edit("no", "injector data", "carried by hand")},
	Check: func(c *Case) []Finding {
		d := c.Design.File.Data
		if d == nil || !d.Corrects || !d.Carried {
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

// marginRule makes a rule of a margin that the solve keeps.
func marginRule(r Rule, state, subject, what, msg, hint string, pos func(c *Case) diag.Pos) Rule {
	r.Check = func(c *Case) []Finding {
		m, ok := c.margin(state, subject, what)
		if !short(m, ok) {
			return nil
		}
		f := finding(pos(c), r.ID, r.Page+"#"+strings.ReplaceAll(subject, " ", "-"), state, m, diag.Sayf(msg, value(m), limit(m)))
		f.Hint = diag.Sayf("%s", hint)
		return []Finding{f}
	}
	return r
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

// explained gives a rule's findings the chain of effects.
func explained(r Rule, why func(c *Case) diag.Phrase) Rule {
	check := r.Check
	r.Check = func(c *Case) []Finding {
		fs := check(c)
		for i := range fs {
			fs[i].Why = why(c)
		}
		return fs
	}
	return r
}

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

var railBoiling = marginRule(Rule{
	ID: "rail-boiling", Title: "fuel boils in the rail on a hot restart",
	Why:    "A stood engine soaks its rail with heat. Where the pressure there is below the fuel's vapour pressure it boils, the injectors pass vapour, and the engine starts badly or not at all.",
	Source: "Clausius and Clapeyron through the Reid pressure (ASTM D323); EN 228 volatility classes (from memory)", Severity: diag.Fix, Page: "fuel",
	Bad:  []buildfile.Edit{edit("2.6 bar", "fuel system", "rail pressure"), edit("3500 m", "climate", "altitude"), edit("95 °C", "places", "engine top", "hot")},
	Good: []buildfile.Edit{edit("3.8 bar", "fuel system", "rail pressure"), edit("95 °C", "places", "engine top", "hot")},
}, design.HotRestart, "rail", "PressurePa", "the rail stands at %v after a hot stop and the fuel boils below %v", "shield the rail from heat, raise its pressure, or let the pump prime longer on a hot restart",
	func(c *Case) diag.Pos { return c.Design.Place("places", railPlace(c), "hot") })

func railPlace(c *Case) string {
	if l := c.Design.OfKind("injector"); len(l) > 0 {
		return l[0].At
	}
	return ""
}
