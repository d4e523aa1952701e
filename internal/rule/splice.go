package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

var spliceSeat = Rule{
	ID:    "splice-seat",
	Title: "a splice is put where it is hot or where the loom flexes",
	Why: "A crimped splice is the stiffest and the thickest point of a wire. Where the loom moves, the strands break beside it; " +
		"where it is hot, its sleeve softens and lets water in, and the joint's resistance grows.",
	Source:   "common practice",
	Severity: diag.Fix,
	Page:     "loom",
	Bad:      []buildfile.Edit{edit("yes", "places", "hatch", "flexes"), edit("hatch", "loom", "splices", "ignition", "at")},
	Good:     []buildfile.Edit{edit("yes", "places", "hatch", "flexes"), edit("controller", "loom", "splices", "ignition", "at")},
	Check: func(c *Case) []Finding {
		var out []Finding
		most := c.Design.Cat.Scheme.SpliceK
		for i := range c.Loom.Splices {
			s := &c.Loom.Splices[i]
			p, ok := c.Loom.Tree.Place(s.Place)
			if !s.Fixed || !ok {
				continue
			}
			place := c.Loom.Tree.Places[p]
			f := Finding{Target: "loom#splices"}
			f.Pos, f.Subject = s.Pos, "splice "+s.Joins
			switch {
			case place.Flexes:
				f.Msg = diag.Sayf("the splice %s sits at %s, where the loom flexes", s.Joins, s.Place)
				f.Value, f.Limit = diag.Sayf("a place that flexes"), diag.Sayf("a place that stays still")
			case place.HotK.SI > most.SI:
				f.Msg = diag.Sayf("the splice %s sits at %s, which gets %v hot; %v is the most for a splice", s.Joins, s.Place, input(place.HotK), input(most))
				f.Value, f.Limit = diag.Sayf("%v", input(place.HotK)), diag.Sayf("at most %v", input(most))
			default:
				continue
			}
			f.Hint = diag.Sayf("leave the choice to fettle, which puts it where it saves copper and stays cool and still")
			f.Mends = []Mend{{Title: diag.Sayf("splice %s placed by fettle", s.Joins), Edits: []buildfile.Edit{{Path: []string{"loom", "splices", s.Joins}, Delete: true}}}}
			out = append(out, f)
		}
		return out
	},
}
