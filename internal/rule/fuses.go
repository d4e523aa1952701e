package rule

import (
	"fmt"
	"math"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

var fuseWire = Rule{
	ID:    "fuse-wire",
	Title: "a fuse is larger than a wire behind it holds",
	Why: "A fuse protects the wire, not the device. It may carry 1.35 times its rating for good, and takes its time above that. A wire that carries less for ever, " +
		"or that is at its limit before the slowest fuse of the rating opens, is cooked by a fault, with what lies beside it.",
	Source:   "FAA AC 43.13-1B, table 11-3: the wire's rating must exceed the protector's over its whole curve; ISO 8820-3; IEC 60949",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "feeds", "lambda", "fuse"}, Text: "40 A"}, {Path: []string{"loom", "feeds", "lambda", "size"}, Text: "0.75 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "feeds", "lambda", "fuse"}, Text: "7.5 A"}, {Path: []string{"loom", "feeds", "lambda", "size"}, Text: "0.75 mm²"}},
	Check:    checkFuseWire,
}

// checkFuseWire answers one finding for a fuse that the user fixed, with the wire
// behind it that holds least, and else one for every wire.
func checkFuseWire(c *Case) []Finding {
	var out []Finding
	weakest := map[string]*loom.Wire{}
	more := map[string]int{}
	for i := range c.Loom.Wires {
		w := &c.Loom.Wires[i]
		if w.Guard.Holds {
			continue
		}
		if fu := c.fuseOf(w); fu != nil && fu.Fixed {
			more[fu.Name]++
			if least := weakest[fu.Name]; least == nil || w.AmpacityA < least.AmpacityA {
				weakest[fu.Name] = w
			}
			continue
		}
		out = append(out, fuseWireFinding(c, w))
	}
	for i := range c.Loom.Fuses {
		fu := &c.Loom.Fuses[i]
		w := weakest[fu.Name]
		if w == nil {
			continue
		}
		f := fuseWireFinding(c, w)
		f.Pos, f.Subject = fu.Pos, "fuse "+fuseWords(fu)
		if n := more[fu.Name] - 1; n > 0 {
			f.Why = append(f.Why, diag.Sayf(" %d more wires behind it hold no better.", n)...)
		}
		if size := loom.RatingForA(fu, fu.LoadA, c.Design.Cat.Scheme.FuseFrac.SI); size < fu.RatingA.SI {
			f.Hint = diag.Sayf("take %s, or a wire that holds it", amps(size))
			f.Mends = append(f.Mends, Mend{
				Title: diag.Sayf("fuse of the %s to %s", fu.Feed, amps(size)),
				Edits: []buildfile.Edit{{Path: []string{"loom", "feeds", fu.Feed, "fuse"}, Text: amps(size)}},
			})
		}
		out = append(out, f)
	}
	return out
}

func fuseWireFinding(c *Case, w *loom.Wire) Finding {
	of := func(name string, si float64, unit string) diag.Shown {
		return say(vehicle.WireFigureID(w, name), si, unit)
	}
	amp, g := of("AmpacityA", w.AmpacityA, "A"), &w.Guard
	f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number)}
	f.Pos, f.Subject = w.Pos, "wire "+w.Name
	f.Limit = diag.Sayf("at most %v", amp)
	fu := c.fuseOf(w)
	switch {
	case g.Fuse == "" || fu == nil:
		f.Msg = diag.Sayf("wire %d, %s, carries %v for ever, and no fuse guards it: what flows is set by %s", w.Number, w.Name, amp, g.By)
		f.Value = diag.Sayf("%v", of("SureA", g.SureA(), "A"))
	case g.SureA() > w.AmpacityA:
		f.Msg = diag.Sayf("wire %d, %s, carries %v for ever; fuse %s before it, %v, may let %v through", w.Number, w.Name, amp, fu.Name, input(fu.RatingA), of("SureA", g.SureA(), "A"))
		f.Value = diag.Sayf("%v", of("SureA", g.SureA(), "A"))
	default:
		fuseS, wireS := g.Against(g.FailA)
		f.Msg = diag.Sayf("at %v fuse %s of %v may take %v; wire %d, %s, stands that for %v",
			of("FailA", g.FailA, "A"), fu.Name, input(fu.RatingA), of("OpensS", fuseS, "s"), w.Number, w.Name, of("StandsS", wireS, "s"))
		f.Value, f.Limit = diag.Sayf("%v", of("OpensS", fuseS, "s")), diag.Sayf("at most %v", of("StandsS", wireS, "s"))
	}
	f.Why = diag.Sayf("It lies at up to %v, among %d wires.", input(w.Lie.HotK), w.Lie.Wires)
	f.Hint = diag.Sayf("make it larger, or its fuse smaller")
	if sizes := c.holdingSizes(w, w.HeatA); len(sizes) > 0 {
		f.Hint = diag.Sayf("make the wire %s or the fuse smaller", sizes[0])
		f.Mends = sizeMends(c, w, sizes)
	}
	return f
}

// fuseOf is the fuse that guards a wire, nil when none does.
func (c *Case) fuseOf(w *loom.Wire) *loom.Fuse {
	for i := range c.Loom.Fuses {
		if f := &c.Loom.Fuses[i]; f.Name == w.Guard.Fuse {
			return f
		}
	}
	return nil
}

var fuseLoad = Rule{
	ID:    "fuse-load",
	Title: "a fuse is too small for what it carries all the time",
	Why: "A fuse that carries more than some 80 % of its rating for hours ages and opens without a fault, " +
		"and what is behind it stops where it happens to be.",
	Source:   "common practice: 75 to 80 % of the rating at 25 °C; ISO 8820-3",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "feeds", "fans", "fuse"}, Text: "10 A"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "feeds", "fans", "fuse"}, Text: "60 A"}},
	Check:    checkFuseLoad,
}

func checkFuseLoad(c *Case) []Finding {
	var out []Finding
	frac := c.Design.Cat.Scheme.FuseFrac
	for i := range c.Loom.Fuses {
		fu := &c.Loom.Fuses[i]
		for _, state := range chargeStates {
			s := c.Result.State(state)
			a, ok := s.LinkA("fuse " + fu.Name)
			most := loom.MostA(fu, frac.SI)
			if !fu.Fixed {
				most *= slackRatio // decided for the load at a nominal voltage
			}
			if !ok || math.Abs(a) <= most {
				continue
			}
			f := Finding{Target: "power#fuse-" + fu.Name, State: state}
			f.Pos, f.Subject = fu.Pos, "fuse "+fu.Name
			load := say(figure.ID(s.Key+"/fuse "+fu.Name+"/CurrentA"), math.Abs(a), "A")
			f.Msg = diag.Sayf("fuse %s carries %v all the time; it is rated %v", fuseWords(fu), load, input(fu.RatingA))
			f.Value, f.Limit = diag.Sayf("%v", load), diag.Sayf("at most %v", say(vehicle.FuseFigureID(fu, "ContinuousA"), loom.MostA(fu, frac.SI), "A"))
			f.Why = diag.Sayf("At %v around it and %v of its rating for good, it opens in time without any fault.", input(fu.HotK), input(frac))
			size := loom.RatingForA(fu, math.Abs(a), frac.SI)
			f.Hint = diag.Sayf("take %.0f A, and a wire that holds it", size)
			if fu.Feed != "" {
				f.Mends = []Mend{{Title: diag.Sayf("fuse of the %s to %s", fu.Feed, amps(size)), Edits: []buildfile.Edit{{Path: []string{"loom", "feeds", fu.Feed, "fuse"}, Text: amps(size)}}}}
			}
			out = append(out, f)
			break
		}
	}
	return out
}

// fuseWords names a fuse with its feed, if it has one.
func fuseWords(f *loom.Fuse) string {
	if f.Feed == "" {
		return f.Name
	}
	return f.Name + ", " + f.Feed + ","
}

func amps(a float64) string { return fmt.Sprintf("%g A", a) }

var wireHot = Rule{
	ID:    "wire-hot",
	Title: "a wire carries more than its insulation stands",
	Why: "A conductor heats with the square of its current until it sheds as much as it makes. Beyond its insulation's class it hardens, cracks and, " +
		"in a bundle, takes its neighbours with it.",
	Source:   "heat balance of a horizontal cylinder (Churchill and Chu 1975; radiation); insulation class of the cable table",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "wires", "K3 30", "size"}, Text: "0.5 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "wires", "K3 30", "size"}, Text: "6 mm²"}},
	Check:    checkWireHot,
}

func checkWireHot(c *Case) []Finding {
	var out []Finding
	for i := range c.Loom.Wires {
		w := &c.Loom.Wires[i]
		for _, state := range []string{design.Idle, design.Full} {
			s := c.Result.State(state)
			_, a, ok := s.WireDropV(w.Number)
			if !ok || math.Abs(a) <= w.AmpacityA {
				continue
			}
			load := say(figure.ID(s.Key+"/"+vehicle.WireName(w.Number)+"/CurrentA"), math.Abs(a), "A")
			amp := say(vehicle.WireFigureID(w, "AmpacityA"), w.AmpacityA, "A")
			f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number), State: state}
			f.Pos, f.Subject = w.Pos, "wire "+w.Name
			f.Msg = diag.Sayf("wire %d, %s, carries %v; at its place it stands %v for ever", w.Number, w.Name, load, amp)
			f.Value, f.Limit = diag.Sayf("%v", load), diag.Sayf("at most %v", amp)
			f.Why = diag.Sayf("It lies at up to %v, among %d wires.", input(w.Lie.HotK), w.Lie.Wires)
			f.Hint = diag.Sayf("make it thicker")
			if sizes := c.holdingSizes(w, math.Abs(a)); len(sizes) > 0 {
				f.Hint = diag.Sayf("make it %s", sizes[0])
				f.Mends = sizeMends(c, w, sizes)
			}
			out = append(out, f)
			break
		}
	}
	return out
}
