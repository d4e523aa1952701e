// Package rule says what must hold in a vehicle, one rule a file: what fails and
// why, how to see it, and the edit that mends it.
//
// A rule is a declaration with a permanent id. Its check looks at the solved
// vehicle and answers findings, each with its place in the file. The manual, the
// explain command and the book print from the declarations. Start reading at
// [Rule], then [All].
package rule

import (
	"math"
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// Rule is one thing that must hold.
type Rule struct {
	ID       string
	Title    string // one line, lower case
	Why      string // the physics: what fails and how
	Source   string
	Severity diag.Severity
	// Page is the page that the finding is mended on.
	Page string
	// Bad and Good are edits of the base vehicle, which has no finding: Bad makes
	// exactly this one, Good is the nearest that does not.
	Bad, Good []buildfile.Edit
	// Parts are the build's own parts that the examples refer to, by file name.
	Parts map[string]string
	Check func(c *Case) []Finding
}

// Case is the vehicle that rules look at.
type Case struct {
	Design *design.Design
	Loom   *loom.Loom
	Result *vehicle.Result
}

// Finding is a cause: what is wrong, where, why, by how much, and what to do.
type Finding struct {
	diag.Diagnostic
	// Why is the chain of effects, with figures.
	Why diag.Phrase
	// Mends are edits that would end it, best first. None when only the builder
	// can say.
	Mends []Mend
	// Target is the thing's page address: "power#wire-23".
	Target string
	// Margin is the ID of the margin that falls short, if it is one.
	Margin string
	// State is the operating state it shows in; empty when it is not of one.
	State string
	// Under lists its consequences, filled by [Arrange].
	Under []Finding
	// Waived is the reason the user gave for accepting it.
	Waived string
	// After is what the first mend would give, filled once it was solved.
	After diag.Phrase
}

// Mend is a change of the file that ends a finding.
type Mend struct {
	Title diag.Phrase
	Edits []buildfile.Edit
}

// Key tells findings apart between two solves of one vehicle.
func (f *Finding) Key() string { return f.Rule + "\x00" + f.Subject }

// All are the rules. Of two findings that would end each other, the one of the
// earlier rule is the cause.
var All = slices.Concat(solveRules, vehicleRules, engineRules, fittingOutRules)

// solveRules look at what the solve found.
var solveRules = []Rule{
	// causes in the wiring and the parts
	wireDrop, sensorGround, looseFeed, supplyCranking, relayOverload, relayPullIn, wireHot, fuseWire, fuseLoad, batteryLead, fuseGroup, coilSuppression, spliceSeat, screenEnds, pairParted, quietRoom, pinShort, chargeBalance,
	// what they lead to, or stands alone
	resetCranking, slowCranking, sparkCranking, fuelShort, fuelCranking, pumpVoltage, injectorDuty, coilCharge, loadStarved, unsolved,
}

// ByID returns a rule.
func ByID(id string) (Rule, bool) {
	for _, r := range All {
		if r.ID == id {
			return r, true
		}
	}
	return Rule{}, false
}

// Check runs every rule and returns the findings with rule and severity set.
func Check(c *Case) []Finding {
	var out []Finding
	for _, r := range All {
		for _, f := range r.Check(c) {
			f.Rule, f.Severity = r.ID, r.Severity
			out = append(out, f)
		}
	}
	return out
}

// shown is a figure in a phrase.
type shown struct {
	id   figure.ID
	text string
}

// Ref is the figure's ID.
func (s shown) Ref() string { return string(s.id) }

// String is the figure as printed.
func (s shown) String() string { return s.text }

// say prints a figure that opens to its working.
func say(id figure.ID, si float64, unit string) diag.Shown {
	return shown{id, quantity.Format(si, unit, 0)}
}

// input prints an input as it opens.
func input(in *figure.Input) diag.Shown { return shown{in.ID, quantity.Format(in.SI, in.Unit, 0)} }

// margin returns one of the result's margins.
func (c *Case) margin(state, subject, what string) (vehicle.Margin, bool) {
	id := figure.ID("room/" + vehicle.Key(state) + "/" + subject + "/" + what)
	for _, m := range c.Result.Margins {
		if m.ID == id {
			return m, true
		}
	}
	return vehicle.Margin{}, false
}

// short reports a margin that is solved and not kept.
func short(m vehicle.Margin, ok bool) bool { return ok && m.Left() < 0 }

// value and limit print a margin's two figures.
func value(m vehicle.Margin) diag.Shown {
	if math.Abs(m.Value) < nothingFrac*math.Abs(m.Limit) {
		return say(m.ID, 0, m.Unit) // a dead circuit: the rest is leakage
	}
	text := quantity.Format(m.Value, m.Unit, 0)
	for digits := 4; digits < 8 && m.Left() < 0 && text == quantity.Format(m.Limit, m.Unit, 0); digits++ {
		text = quantity.Format(m.Value, m.Unit, digits) // short by less than the limit shows
	}
	return shown{m.ID, text}
}

// nothingFrac is the share of its limit below which a figure is printed as 0.
const nothingFrac = 1e-4

func limit(m vehicle.Margin) diag.Shown { return say(m.ID+"/limit", m.Limit, m.Unit) }

// finding fills the parts of a finding that every rule states alike.
func finding(pos diag.Pos, subject, target, state string, m vehicle.Margin, msg diag.Phrase) Finding {
	sense := "at most %v"
	if m.AtLeast {
		sense = "at least %v"
	}
	return Finding{
		Diagnostic: diag.Diagnostic{
			Pos: pos, Subject: subject, Msg: msg,
			Value: diag.Sayf("%v", value(m)), Limit: diag.Sayf(sense, limit(m)),
		},
		Target: target, State: state, Margin: string(m.ID),
	}
}
