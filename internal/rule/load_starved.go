package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

var loadStarved = Rule{
	ID:    "load-starved",
	Title: "a device can't be fed: its voltage collapses",
	Why: "A device with a converter draws more current the less voltage it gets, until its supply can't bring it and it drops out. " +
		"What the network then settles at is a device that is off, whatever its lamp says, not a device that works on little.",
	Source:   "maximum power through a resistance; the part's own drop-out",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "radio", "part"}, Text: "fussy radio"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "radio", "part"}, Text: "radio"}},
	Parts:    map[string]string{"parts/fussy radio.yaml": fussyRadio},
	Check:    checkLoadStarved,
}

// An example's radio: it switches itself off at a voltage that a battery at rest
// hardly has.
const fussyRadio = `part: fussy radio
kind: unit
is: invented radio that wants a charging alternator
source: invented for an example
terminals:
  75: {role: feed, feed: accessories}
  31: {role: ground, ground: body}
loads:
  - {from: "75", to: "31", model: power, power: 25 W, drop-out: 12.8 V, on: [key on, idle, cruise]}
`

// fedStates are the states in which a device that is switched on must work.
var fedStates = []string{design.KeyOn, design.Idle, design.WetNight, design.Cruise, design.Full}

func checkLoadStarved(c *Case) []Finding {
	var out []Finding
	seen := map[string]bool{}
	for _, state := range fedStates {
		s := c.Result.State(state)
		if s == nil || !s.Ended.OK {
			continue
		}
		for _, st := range s.Starved() {
			if seen[st.Name] {
				continue
			}
			seen[st.Name] = true
			volts := say(figure.ID(s.Key+"/"+st.Name+"/VoltageV"), st.AcrossV, "V")
			f := Finding{Target: "power#devices", State: state}
			f.Pos, f.Subject = st.Item.Pos, st.Name
			f.Value, f.Limit = diag.Sayf("%v", volts), diag.Sayf("at least %v", input(st.DropOut))
			f.Msg = diag.Sayf("%s can't be fed in the state %s: it is left with %v and drops out below %v", st.Name, state, volts, input(st.DropOut))
			f.Hint = diag.Sayf("give it a stronger supply or a thicker wire, or a device that wants less")
			out = append(out, f)
		}
	}
	return out
}
