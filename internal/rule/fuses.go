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
	Why: "A fuse protects the wire, not the device. Where the wire carries less for ever than the fuse's rating, a fault that does not blow the fuse " +
		"cooks the wire and what lies beside it.",
	Source:   "FAA AC 43.13-1B, table 11-3: the wire's rating must exceed the protector's; ISO 8820-3",
	Severity: diag.Stop,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"loom", "feeds", "lambda", "fuse"}, Text: "40 A"}, {Path: []string{"loom", "feeds", "lambda", "size"}, Text: "0.75 mm²"}},
	Good:     []buildfile.Edit{{Path: []string{"loom", "feeds", "lambda", "fuse"}, Text: "7.5 A"}, {Path: []string{"loom", "feeds", "lambda", "size"}, Text: "0.75 mm²"}},
	Check:    checkFuseWire,
}

func checkFuseWire(c *Case) []Finding {
	var out []Finding
	for i := range c.Loom.Wires {
		w := &c.Loom.Wires[i]
		if w.FuseA == 0 || w.AmpacityA >= w.FuseA || !userFixed(c, w) {
			continue
		}
		out = append(out, fuseWireFinding(c, w))
	}
	return out
}

// userFixed reports whether the user fixed the wire's size or its fuse: what
// fettle decides is coordinated when it is decided.
func userFixed(c *Case, w *loom.Wire) bool {
	if w.Fixed {
		return true
	}
	for _, f := range c.Loom.Fuses {
		if f.Feed != "" && f.Feed == w.Feed && f.Fixed {
			return true
		}
	}
	return false
}

func fuseWireFinding(c *Case, w *loom.Wire) Finding {
	amp := say(figure.ID("loom/"+vehicle.WireName(w.Number)+"/AmpacityA"), w.AmpacityA, "A")
	f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number)}
	f.Pos, f.Subject = w.Pos, "wire "+w.Name
	rating := c.fuseShown(w)
	f.Msg = diag.Sayf("wire %d, %s, carries %v for ever; the fuse before it is %v", w.Number, w.Name, amp, rating)
	f.Value, f.Limit = diag.Sayf("%v", rating), diag.Sayf("at most %v", amp)
	f.Why = diag.Sayf("It lies at up to %v in its bundle.", input(w.HotK))
	for _, fu := range c.Loom.Fuses {
		if fu.Feed == w.Feed && fu.Fixed {
			f.Pos = fu.Pos
		}
	}
	if sizes := c.holdingSizes(w, w.DesignA); len(sizes) > 0 {
		f.Hint = diag.Sayf("make the wire %s or the fuse smaller", sizes[0])
		f.Mends = sizeMends(c, w, sizes)
		return f
	}
	f.Hint = diag.Sayf("take a smaller fuse")
	return f
}

func (c *Case) fuseShown(w *loom.Wire) diag.Shown {
	for i := range c.Loom.Fuses {
		if f := &c.Loom.Fuses[i]; f.Feed == w.Feed && f.Feed != "" {
			return input(f.RatingA)
		}
	}
	for i := range c.Loom.Fuses {
		if f := &c.Loom.Fuses[i]; f.From == w.To.Node || f.To == w.From.Node {
			return input(f.RatingA)
		}
	}
	return shown{text: fmt.Sprintf("%.0f A", w.FuseA)}
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
			most := frac.SI * fu.RatingA.SI
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
			f.Value, f.Limit = diag.Sayf("%v", load), diag.Sayf("at most %v of %v", input(frac), input(fu.RatingA))
			f.Why = diag.Sayf("At this load it opens in time without any fault.")
			size := loom.StandardFuseA(math.Abs(a) / frac.SI)
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
	Good:     []buildfile.Edit{{Path: []string{"loom", "wires", "K3 30", "size"}, Text: "4 mm²"}},
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
			amp := say(figure.ID("loom/"+vehicle.WireName(w.Number)+"/AmpacityA"), w.AmpacityA, "A")
			f := Finding{Target: "power#" + vehicle.WireAnchor(w.Number), State: state}
			f.Pos, f.Subject = w.Pos, "wire "+w.Name
			f.Msg = diag.Sayf("wire %d, %s, carries %v; at its place it stands %v for ever", w.Number, w.Name, load, amp)
			f.Value, f.Limit = diag.Sayf("%v", load), diag.Sayf("at most %v", amp)
			f.Why = diag.Sayf("It lies at up to %v in its bundle.", input(w.HotK))
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
