package rule

import (
	"math"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

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

// mostPistonMPS is the fastest mean piston speed of ordinary engines (common practice).
const mostPistonMPS = 25

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
