package rule

import (
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
)

var supplyCranking = Rule{
	ID:    "supply-cranking",
	Title: "the controller's switched supply is dead while cranking",
	Why: "A key switch takes the accessories off while it cranks. A controller that is told of the key by such a terminal shuts down at that moment: " +
		"no spark, no fuel, no start; and it wakes again when the key is let go.",
	Source:   "DIN 72552: terminal 15 stays live while cranking, 75 does not; common practice",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "feeds", "switched", "from"}, Text: `75`}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "feeds", "switched", "from"}, Text: `15`}},
	Check:    checkSupplyCranking,
}

// keyedStates are the states in which the key asks for the engine.
var keyedStates = []string{design.KeyOn, design.Cranking, design.Idle, design.Full}

func checkSupplyCranking(c *Case) []Finding {
	var dead []string
	for _, name := range keyedStates {
		if s := c.Result.State(name); s != nil && !s.Live {
			dead = append(dead, s.Name)
		}
	}
	if len(dead) == 0 {
		return nil
	}
	f := Finding{Target: "power#feed-switched", State: dead[0]}
	f.Pos, f.Subject = c.Design.Place("loom", "feeds", "switched", "from"), "feed switched"
	f.Value, f.Limit = diag.Sayf("dead"), diag.Sayf("live in every position from on to start")
	f.Msg = diag.Sayf("the controller's switched supply goes dead while cranking")
	f.Why = diag.Sayf("It hangs on a terminal that the key takes off in its start position, so the controller shuts down: no spark, no fuel.")
	if len(dead) > 1 || dead[0] != design.Cranking {
		f.Msg = diag.Sayf("the controller's switched supply is dead in the state %s", strings.Join(dead, ", "))
		f.Why = diag.Sayf("It hangs on a terminal that is not live then, and the controller is shut down: no spark, no fuel.")
	}
	f.Hint = diag.Sayf("take it from terminal 15")
	for _, v := range c.Design.File.Loom.Feeds {
		if v.Name == "switched" {
			f.Mends = []Mend{{
				Title: diag.Sayf("switched supply from terminal 15"),
				Edits: []buildfile.Edit{{Path: []string{"loom", "feeds", "switched", "from"}, Text: "15"}},
			}}
		}
	}
	return []Finding{f}
}
