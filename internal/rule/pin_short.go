package rule

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
	"fettle/internal/quantity"
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
		var out []Finding
		for i := range c.Loom.Lacks {
			if l := &c.Loom.Lacks[i]; !c.toldAll(l) {
				out = append(out, c.lacking(l))
			}
		}
		return out
	},
}

// lacking says what is missing for a set of terminals, and what they compete for.
func (c *Case) lacking(l *loom.Lack) Finding {
	f := Finding{Target: "loom#pins"}
	f.Pos, f.Subject = l.Pos, l.Needs[0]
	asked := ""
	if l.CurrentA >= 0.1 { // below it any driver will do
		asked = " of " + quantity.Format(l.CurrentA, "A", 0) + " or more"
	}
	if l.PulseHz > 0 {
		asked += " at " + quantity.Format(l.PulseHz, "Hz", 0)
	}
	f.Msg = diag.Sayf("%s for %s", missing(l.Missing, l.Needs), listed(l.Left))
	switch {
	case len(l.Pins) > 0:
		f.Msg = diag.Sayf("%s; %s compete for %s", f.Msg, listed(l.Ends), loom.Runs(l.Pins))
	case len(l.Unfit)+len(l.Held) == 0:
		f.Msg = diag.Sayf("%s; there is none", f.Msg)
	}
	if len(l.Unfit) > 0 {
		f.Msg = diag.Sayf("%s; %s can't bear it", f.Msg, loom.Runs(l.Unfit))
	}
	f.Hint = diag.Sayf("take a controller with %d more%s, or leave a device out", l.Missing, asked)
	if n := len(l.Held); n > 0 {
		f.Msg = diag.Sayf("%s; the file gives %s to %s", f.Msg, loom.Runs(l.Held), listed(l.HeldBy))
		f.Hint = diag.Sayf("let fettle choose the pins that the file gives away, or take a controller with %d more%s", l.Missing, asked)
		for k := range min(n, mostPinMends) {
			f.Mends = append(f.Mends, Mend{
				Title: diag.Sayf("pin of %s chosen by fettle", l.HeldBy[k]),
				Edits: []buildfile.Edit{{Path: []string{"loom", "pins", l.HeldBy[k]}, Delete: true}},
			})
		}
	}
	f.Value, f.Limit = diag.Sayf("%d short", l.Missing), diag.Sayf("%s for %s", counts(len(l.Pins), "pin"), counts(len(l.Ends), "terminal"))
	f.Mends = append(f.Mends, exchange(c, c.Design.One("controller"), func(p *catalogue.Part) (float64, bool) {
		for _, need := range l.Needs {
			if !partCan(p, need) {
				return 0, false
			}
		}
		return float64(len(p.Controller.Pins)), true // whether it has enough of them is tried
	})...)
	return f
}

// mostPinMends is how many pins that the file gives away are offered back.
const mostPinMends = 3

// missing writes how many pins more are due: 2 more pins of the kind low side are
// needed. What each has to bear stands in the hint.
func missing(n int, kinds []string) string {
	pins, verb := "pins", "are"
	if n == 1 {
		pins, verb = "pin", "is"
	}
	return fmt.Sprintf("%d more %s of the kind %s %s needed", n, pins, strings.Join(kinds, " or "), verb)
}

// listed names up to four ends and counts the rest.
func listed(ends []string) string {
	const most = 4
	if len(ends) > most {
		return fmt.Sprintf("%s and %d more", listed(ends[:most]), len(ends)-most)
	}
	words := make([]string, len(ends))
	for i, e := range ends {
		words[i] = strconv.Quote(e)
	}
	return strings.Join(words, ", ")
}

// toldAll reports whether rules of their own say all that a lack is about.
func (c *Case) toldAll(l *loom.Lack) bool {
	for _, s := range c.Loom.Short {
		if slices.Contains(l.Left, s.End) && !c.told(s) {
			return false
		}
	}
	return true
}

// told reports whether a rule of its own says what a terminal without a pin is
// about.
func (c *Case) told(s loom.Shortage) bool {
	switch s.Needs {
	case coilPulse:
		return true
	case bridge, otherBridge:
		return len(throttleDriver.Check(c)) > 0
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
