package rule

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/vehicle"
)

var chargeBalance = Rule{
	ID:    "charge-balance",
	Title: "the alternator does not carry what is switched on",
	Why: "An alternator's output falls steeply with its speed. What it does not bring at idle the battery gives, until it is flat; " +
		"long before that the voltage sinks, and with it the pump, the spark and the lamps.",
	Source:   "ISO 8854 (output at 1500 and 6000 rpm of the alternator); common practice: everything on at hot idle must balance",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "alternator", "part"}, Text: "alternator 65 A"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "alternator", "part"}, Text: "alternator 150 A"}},
	Check:    checkChargeBalance,
}

// chargeStates are the states in which the engine drives the alternator.
var chargeStates = []string{design.Idle, design.WetNight, design.Cruise, design.Full}

func checkChargeBalance(c *Case) []Finding {
	for _, state := range chargeStates {
		if m, ok := c.margin(state, "alternator", "CurrentA"); short(m, ok) {
			return []Finding{chargeFinding(c, state, m)}
		}
	}
	return nil
}

func chargeFinding(c *Case, state string, m vehicle.Margin) Finding {
	alt := c.Design.One("alternator")
	over := -m.Left()
	f := finding(alt.Pos, "alternator", "power#alternator", state, m,
		diag.Sayf("the alternator can't carry %s: %v are on, it brings %v", stateWords[state], value(m), limit(m)))
	f.Why = diag.Sayf("The battery gives the rest.")
	st := c.Result.State(state)
	if t, err := c.Result.Vehicle.FlatS(st.Point.BatteryA); err == nil && over > 0 {
		f.Why = diag.Sayf("The battery gives the rest and is flat in about %v.", say(figure.ID(st.Key+"/battery/FlatS"), t, "h"))
	}
	f.Hint = diag.Sayf("fit a larger alternator or a smaller pulley, or switch something off")
	for _, part := range largerAlternators(c, alt.Part) {
		f.Mends = append(f.Mends, Mend{
			Title: diag.Sayf("%s to %s", alt.Written, part),
			Edits: []buildfile.Edit{{Path: []string{"devices", alt.Written, "part"}, Text: part}},
		})
	}
	return f
}

// stateWords is how a state stands in a sentence.
var stateWords = map[string]string{
	design.KeyOn: "the key on", design.Cranking: "cranking", design.Idle: "hot idle with everything on", design.WetNight: "a wet night at idle", design.Cruise: "cruise", design.Full: "full power",
}

// largerAlternators lists the catalogue's alternators above the fitted one's
// rating that take its place, smallest first.
func largerAlternators(c *Case, now *catalogue.Part) []string {
	return alternators(c, now, func(p *catalogue.Part) bool { return p.Alternator.RatedA.SI > now.Alternator.RatedA.SI })
}

// alternators lists the catalogue's alternators that take the fitted one's place
// and pass, smallest first.
func alternators(c *Case, now *catalogue.Part, pass func(*catalogue.Part) bool) []string {
	var list []*catalogue.Part
	for _, p := range c.Design.Cat.Parts {
		if p.Alternator != nil && pass(p) && sameTerminals(p, now) {
			list = append(list, p)
		}
	}
	slices.SortFunc(list, func(a, b *catalogue.Part) int {
		if d := a.Alternator.RatedA.SI - b.Alternator.RatedA.SI; d != 0 {
			return int(d)
		}
		return strings.Compare(a.Name, b.Name)
	})
	out := make([]string, len(list))
	for i, p := range list {
		out[i] = p.Name
	}
	return out
}

func sameTerminals(a, b *catalogue.Part) bool {
	for _, t := range b.Terminals {
		if a.Terminal(t.Name) == nil {
			return false
		}
	}
	return true
}
