package rule

import (
	"fettle/internal/diag"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// tried prints a figure of a vehicle that was only tried: it has no working in
// this vehicle's ledger, and says so by having no reference.
func tried(m vehicle.Margin) string { return quantity.Format(m.Value, m.Unit, 0) }

func triedLimit(m vehicle.Margin) string { return quantity.Format(m.Limit, m.Unit, 0) }

// headlines says what each rule's finding does to the day, worst first. The
// first one that stands makes the headline.
var headlines = []struct{ rule, start, trouble string }{
	{"unsolved", "One state has ", "no answer yet."},
	{"loose-feed", "Part of it ", "is fed by nothing."},
	{"supply-cranking", "It would crank ", "and never fire."},
	{"slow-cranking", "It would not ", "turn fast enough to fire."},
	{"reset-cranking", "It would crank, and ", "the controller would restart."},
	{"spark-cranking", "It would crank ", "without enough spark."},
	{"fuel-cranking", "It would crank ", "without enough fuel."},
	{"fuel-short", "It would start, then ", "starve at full power."},
	{"wire-hot", "It would run, until ", "a wire overheats."},
	{"fuse-wire", "It would run, with ", "a wire no fuse protects."},
	{"sensor-ground", "It would run, and ", "misread its sensors."},
	{"pin-short", "Not everything ", "finds a pin."},
	{"charge-balance", "It would run, and ", "flatten its battery."},
	{"relay-overload", "It would run, until ", "a relay gives up."},
	{"injector-duty", "It would run, and ", "run out of injector."},
	{"coil-charge", "It would run, and ", "run out of spark."},
	{"fuse-load", "It would run, until ", "a fuse blows."},
	{"pump-voltage", "It would run, with ", "a pump short of volts."},
	{"wire-drop", "It would run, and ", "lose volts on the way."},
}

// headline is one sentence from the gravest thing that stands, or its cause's
// consequences.
func headline(open []Finding, solved *vehicle.Result) (start, trouble diag.Phrase) {
	standing := map[string]bool{}
	for _, f := range open {
		standing[f.Rule] = true
		for _, u := range f.Under {
			standing[u.Rule] = true
		}
	}
	for _, h := range headlines {
		if standing[h.rule] {
			if _, held := solved.Vehicle.Loom.Relay("start"); held && h.rule == "supply-cranking" {
				return diag.Sayf("It would not crank: "), diag.Sayf("the start relay lets go with the controller.")
			}
			return diag.Sayf("%s", h.start), diag.Sayf("%s", h.trouble)
		}
	}
	for _, f := range open {
		if x, ok := ByID(f.Rule); ok && f.Severity >= diag.Fix {
			return diag.Sayf("Not ready: "), diag.Sayf("%s.", x.Title)
		}
	}
	if len(open) > 0 {
		return diag.Sayf("Nothing stands in the way"), diag.Sayf(", with something to note.")
	}
	for _, s := range solved.States {
		if !s.Ended.OK {
			return diag.Sayf("One state has "), diag.Sayf("no answer yet.")
		}
	}
	return diag.Sayf("Nothing that was computed stands in the way."), nil
}

// lede explains the headline from the first cause and counts the causes.
func lede(open []Finding) diag.Phrase {
	switch len(open) {
	case 0:
		return diag.Sayf("What was computed rests on the values in brackets until they are measured.")
	case 1:
		return diag.Sayf("One cause: %v.", open[0].Msg)
	}
	n := 0
	for _, f := range open {
		n += len(f.Under)
	}
	if n == 0 {
		return diag.Sayf("%d causes. The first: %v.", len(open), open[0].Msg)
	}
	return diag.Sayf("%d causes, with %d consequences under them. The first: %v.", len(open), n, open[0].Msg)
}
