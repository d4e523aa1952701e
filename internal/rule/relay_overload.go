package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

var relayOverload = Rule{
	ID:    "relay-overload",
	Title: "a relay's contact carries more than it may all the time",
	Why: "A contact heats with the square of its current. Beyond its rating at the temperature of its place it oxidises, drops more volts, " +
		"gets hotter, and in the end welds or opens.",
	Source:   "ISO 7588 relays; contact current against temperature from a relay maker's data sheet (TE Power Relay F4 A: 40 A at 85 °C)",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "feeds", "fans", "relay"}, Text: "main"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "feeds", "fans", "relay"}, Text: "fans"}},
	Check:    checkRelayOverload,
}

func checkRelayOverload(c *Case) []Finding {
	var out []Finding
	for i := range c.Loom.Relays {
		r := &c.Loom.Relays[i]
		for _, state := range chargeStates {
			m, ok := c.margin(state, r.Name, "CurrentA")
			if !short(m, ok) {
				continue
			}
			f := finding(r.Pos, "relay "+r.Name, "power#relay-"+r.Name, state, m,
				diag.Sayf("relay %s, %s, carries %v all the time; %v allowed", r.Name, r.Group, value(m), limit(m)))
			f.Why = diag.Sayf("Behind it hang %s.", list(r.Feeds))
			f.Hint = diag.Sayf("feed some of it from another relay")
			f.Mends = unburden(c, r)
			if len(f.Mends) > 0 {
				f.Hint = diag.Sayf("%v", f.Mends[0].Title)
			}
			out = append(out, f)
			break
		}
	}
	return out
}

// unburden puts a feed that the user hung on this relay back on its own.
func unburden(c *Case, r *loom.Relay) []Mend {
	for _, v := range c.Design.File.Loom.Feeds {
		g := c.Design.Cat.Scheme.Feed(v.Name)
		if v.Value.Relay != r.Group || g == nil || g.Relay == "" || g.Relay == r.Group {
			continue
		}
		return []Mend{{
			Title: diag.Sayf("feed the %s from a relay of their own", v.Name),
			Edits: []buildfile.Edit{{Path: []string{"loom", "feeds", v.Name, "relay"}, Text: g.Relay}},
		}}
	}
	return nil
}

func list(words []string) string {
	s := ""
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			s += " and "
		default:
			s += ", "
		}
		s += w
	}
	if s == "" {
		return "nothing"
	}
	return s
}
