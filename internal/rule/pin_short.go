package rule

import (
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

var pinShort = Rule{
	ID:    "pin-short",
	Title: "the controller has no pin left for a device",
	Why: "A controller has so many drivers and inputs of each kind. A device without one is not run: a cylinder without a driver does not fire, " +
		"a sensor without an input is not read.",
	Source:   "the controller's own list of pins",
	Severity: diag.Fix,
	Page:     "overview",
	Bad: []buildfile.Edit{
		{Path: []string{"devices", "third knock sensor", "part"}, Text: "knock sensor"},
		{Path: []string{"devices", "third knock sensor", "at"}, Text: "engine side"},
	},
	Good: []buildfile.Edit{
		{Path: []string{"devices", "head temperature", "part"}, Text: "temperature sensor"},
		{Path: []string{"devices", "head temperature", "at"}, Text: "engine side"},
	},
	Check: func(c *Case) []Finding {
		need := map[string]int{}
		first := map[string]int{}
		var order []string
		for i, s := range c.Loom.Short {
			if c.told(s) {
				continue
			}
			if need[s.Needs]++; need[s.Needs] == 1 {
				first[s.Needs] = i
				order = append(order, s.Needs)
			}
		}
		var out []Finding
		for _, needs := range order {
			s := c.Loom.Short[first[needs]]
			f := Finding{Target: "power#pins"}
			f.Pos, f.Subject = s.Pos, needs
			f.Msg = diag.Sayf("%q finds no pin: the controller has %d that can %s, all in use", s.End, s.Have, needs)
			if need[needs] > 1 {
				f.Msg = diag.Sayf("%d terminals, the first of them %q, find no pin: the controller has %d that can %s, all in use", need[needs], s.End, s.Have, needs)
			}
			f.Value, f.Limit = diag.Sayf("%d short", need[needs]), diag.Sayf("%d on the controller", s.Have)
			f.Hint = diag.Sayf("take a controller with more of them, or leave the device out")
			out = append(out, f)
		}
		return out
	},
}

// told reports whether a rule of its own says what a terminal without a pin is
// about.
func (c *Case) told(s loom.Shortage) bool {
	switch s.Needs {
	case coilPulse:
		return true
	case solenoidDriver:
		return s.Have == 0 && len(checkGearboxControl(c)) > 0
	case pumpOutput:
		return s.Have > 0 && len(checkPumpOverDriver(c)) > 0
	}
	return false
}

// statePlace is where a state is written.
func statePlace(c *Case, state string) diag.Pos {
	if state == design.Cruise {
		return c.Design.Place("vehicle", "cruise speed")
	}
	return c.Design.Place("devices")
}

var unsolved = Rule{
	ID:    "unsolved",
	Title: "a state has no solution",
	Why: "A network with a part that floats, a load that can't be fed, or a coupling that does not settle has no operating point; " +
		"its figures are not shown, since none would be true.",
	Source:   "Kirchhoff's laws",
	Severity: diag.Fix,
	Page:     "overview",
	Bad:      []buildfile.Edit{{Path: []string{"vehicle", "cruise speed"}, Text: "190 km/h"}},
	Good:     []buildfile.Edit{{Path: []string{"vehicle", "cruise speed"}, Text: "100 km/h"}},
	Check: func(c *Case) []Finding {
		var out []Finding
		for _, s := range c.Result.States {
			why := s.Ended.Why
			if s.Ended.OK {
				if s.Start == nil || s.Start.Ended.OK {
					continue
				}
				why = s.Start.Ended.Why
			}
			f := Finding{Target: "overview#states", State: s.Name}
			f.Pos, f.Subject = statePlace(c, s.Name), "state "+s.Name
			f.Msg = diag.Sayf("no answer for the state %s: %s", s.Name, strings.TrimPrefix(why, s.Name+": "))
			f.Value, f.Limit = diag.Sayf("no answer"), diag.Sayf("a state that settles")
			f.Hint = diag.Sayf("mend what is named and solve again")
			out = append(out, f)
		}
		return out
	},
}
