package rule

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

// channel is the driver of the engine controller that serves a cylinder.
type channel struct {
	number int    // counted over the controller's drivers of its kind, from 1
	end    string // the wire it is fixed by: "coil 2 signal"
	fixed  bool
}

// channels finds the driver of every cylinder's device of a kind, through a
// stage where one stands between: a stage's input n drives its output n. It
// answers nil unless every cylinder has one.
func (c *Case) channels(kind, driver string) map[int]channel {
	out := map[int]channel{}
	for _, it := range c.Design.OfKind(kind) {
		if it.Cylinder == 0 {
			continue
		}
		for _, t := range it.Part.Terminals {
			if ch, ok := c.channelOf(it.Name+" "+t.Name, driver); ok && t.Value.Role == "output" {
				out[it.Cylinder] = ch
				break
			}
		}
	}
	if len(out) != c.Design.File.Engine.Cylinders {
		return nil
	}
	return out
}

// channelOf follows a wire to the engine controller's driver.
func (c *Case) channelOf(end, driver string) (channel, bool) {
	pin, ok := c.pinOf(end)
	if !ok {
		return channel{}, false
	}
	ctl := c.Design.One("controller")
	if pin.Unit != ctl.Name {
		way := strings.TrimLeft(pin.Pin[strings.LastIndex(pin.Pin, " ")+1:], "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
		ch, ok := c.channelOf(pin.Unit+" in"+way, driver)
		if ok && pin.Fixed && !ch.fixed {
			ch.end, ch.fixed = end, true
		}
		return ch, ok
	}
	n := 0
	names, banks, _ := loom.Ways(ctl.Part.Controller)
	for i, name := range names {
		if slices.Contains(banks[i].Can, driver) {
			n++
		}
		if name == pin.Pin {
			return channel{n, end, pin.Fixed}, pin.Can == driver
		}
	}
	return channel{}, false
}

// pinOf is the pin that serves a terminal.
func (c *Case) pinOf(end string) (loom.Pin, bool) {
	i := slices.IndexFunc(c.Loom.Pins, func(p loom.Pin) bool { return p.Device == end })
	if i < 0 {
		return loom.Pin{}, false
	}
	return c.Loom.Pins[i], true
}

// Channels are counted one of these two ways.
const (
	byCylinder = "by cylinder"
	byFiring   = "by firing order"
)

// counted says how channels follow the cylinders; empty when they do not.
func counted(ch map[int]channel, firing []int) string {
	cylinder, order := true, len(firing) == len(ch)
	for n, v := range ch {
		cylinder = cylinder && v.number == n
		order = order && firing[min(max(v.number, 1), len(firing))-1] == n
	}
	switch {
	case cylinder:
		return byCylinder
	case order:
		return byFiring
	}
	return ""
}

// row writes the channels of cylinder 1, 2 and so on.
func row(ch map[int]channel) string {
	words := make([]string, len(ch))
	for n, v := range ch {
		words[n-1] = fmt.Sprint(v.number)
	}
	return strings.Join(words, "-")
}

// astray makes the finding about channels that do not follow the cylinders.
func astray(c *Case, ch map[int]channel, kind string, msg diag.Phrase) []Finding {
	var fixed []channel
	for n := 1; n <= len(ch); n++ {
		if ch[n].fixed {
			fixed = append(fixed, ch[n])
		}
	}
	slices.SortStableFunc(fixed, func(a, b channel) int { return c.pinPlace(a.end).Line - c.pinPlace(b.end).Line })
	f := Finding{Target: "loom#pins"}
	f.Subject, f.Msg, f.Pos = kind+" channels", msg, c.Design.Place("loom", "pins")
	f.Value = diag.Sayf("channels %s of cylinders 1 to %d", row(ch), len(ch))
	f.Limit = diag.Sayf("one channel after the other, by cylinder or by firing order, coils and injectors alike")
	f.Hint = diag.Sayf("give every cylinder's coil and injector the channel of one number, and enter the firing order in cylinder numbers")
	if len(fixed) == 0 {
		return []Finding{f}
	}
	f.Pos = c.pinPlace(fixed[0].end)
	m := Mend{Title: diag.Sayf("%s channels by cylinder", kind)}
	for _, v := range fixed {
		m.Edits = append(m.Edits, buildfile.Edit{Path: []string{"loom", "pins", v.end}, Delete: true})
	}
	f.Mends = []Mend{m}
	return []Finding{f}
}

func (c *Case) pinPlace(end string) diag.Pos { return c.Design.Place("loom", "pins", end) }

// strays names the cylinders that are not on the channel of their number.
func strays(ch map[int]channel, thing string) string {
	var words []string
	for n := 1; n <= len(ch); n++ {
		if ch[n].number != n {
			words = append(words, fmt.Sprintf("%s %d on channel %d", thing, n, ch[n].number))
		}
	}
	const most = 2
	if len(words) > most {
		return strings.Join(words[:most], ", ") + " and more"
	}
	return strings.Join(words, ", ")
}

const channelSource = "common practice: channel n serves cylinder n, or the nth of the firing order; coils and injectors alike"

var injectorChannel = Rule{
	ID: "injector-channel", Title: "the injectors' channels do not follow the cylinders",
	Why: "A controller opens injector channels in an order it is told once. Where a cylinder hangs on another one's channel, its fuel is sprayed at another one's time: " +
		"on a shut or a wide-open valve, and a trim for one cylinder works on another.",
	Source: channelSource, Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("A2", "loom", "pins", "injector 1 2", "pin"), edit("A1", "loom", "pins", "injector 2 2", "pin")},
	Good: []buildfile.Edit{edit("A1", "loom", "pins", "injector 1 2", "pin"), edit("A2", "loom", "pins", "injector 2 2", "pin")},
	Check: func(c *Case) []Finding {
		ch := c.channels("injector", "injector driver")
		if ch == nil || counted(ch, c.Design.Firing) != "" {
			return nil
		}
		return astray(c, ch, "injector", diag.Sayf("the injectors' channels follow neither the cylinders nor the firing order: %s", strays(ch, "injector")))
	},
}

var coilChannel = Rule{
	ID: "coil-channel", Title: "the coils' channels do not follow the cylinders as the injectors' do",
	Why: "A coil on another cylinder's channel fires that cylinder on its intake stroke and leaves its own unburnt: the engine backfires into the manifold. " +
		"The channels of coils and injectors are paired by number, so that both must be counted the same way.",
	Source: channelSource, Severity: diag.Fix, Page: "power",
	Bad:  []buildfile.Edit{edit("A11", "loom", "pins", "coil 2 signal", "pin"), edit("A10", "loom", "pins", "coil 3 signal", "pin")},
	Good: []buildfile.Edit{edit("A10", "loom", "pins", "coil 2 signal", "pin"), edit("A11", "loom", "pins", "coil 3 signal", "pin")},
	Check: func(c *Case) []Finding {
		coils, injectors := c.channels("coil", "coil driver"), c.channels("injector", "injector driver")
		if coils == nil {
			return nil
		}
		how := counted(coils, c.Design.Firing)
		if how == "" {
			return astray(c, coils, "coil", diag.Sayf("the coils' channels follow neither the cylinders nor the firing order: %s", strays(coils, "coil")))
		}
		if fuel := counted(injectors, c.Design.Firing); injectors != nil && fuel != "" && fuel != how {
			msg := diag.Sayf("the coils' channels are counted %s, the injectors' %s: %s", how, fuel, strays(coils, "coil"))
			if how == byCylinder { // the injectors are what was moved
				msg = diag.Sayf("the coils' channels are counted %s, the injectors' %s: %s", how, fuel, strays(injectors, "injector"))
				return astray(c, injectors, "injector", msg)
			}
			return astray(c, coils, "coil", msg)
		}
		return nil
	},
}

var wastedPairs = Rule{
	ID: "wasted-pairs", Title: "wasted spark wants cylinders in pairs",
	Why: "One winding fires two plugs at once: one at the end of compression, the other at the end of exhaust. That needs two cylinders whose pistons rise together and that fire 360° apart. " +
		"With an odd number of cylinders there are no such pairs, and the second plug fires into a fresh charge.",
	Source: "geometry of the four-stroke cycle: cylinders fire every 720°/n, so that partners 360° apart need an even n; on shared crank pins at 120° under banks at 90° the six top dead centres are 30° or 90° apart, none together", Severity: diag.Fix, Page: "engine",
	Bad: []buildfile.Edit{
		edit("wasted spark", "engine", "spark"), edit("coil pack six", "devices", "coil", "part"), {Path: []string{"devices", "coil", "each"}, Delete: true},
	},
	Good: []buildfile.Edit{edit("one coil a cylinder", "engine", "spark")},
	Check: func(c *Case) []Finding {
		n := c.Design.File.Engine.Cylinders
		w := c.Design.Windings()
		uneven := c.Design.File.Engine.Fires == "unevenly"
		if c.Design.File.Engine.Spark != "wasted spark" || n%2 == 0 && !uneven || w == 0 || w == n {
			return nil // a coil of its own for each cylinder has no partner
		}
		f := Finding{Target: "engine#spark"}
		f.Pos, f.Subject = c.Design.Place("engine", "spark"), "spark"
		f.Msg = diag.Sayf("wasted spark with %d cylinders: no two of them fire 360° apart", n)
		if n%2 == 0 {
			f.Msg = diag.Sayf("wasted spark with %d cylinders that fire unevenly: no two of them fire 360° apart", n)
		}
		f.Value, f.Limit = diag.Sayf("%d cylinders on %d windings", n, w), diag.Sayf("an even number of cylinders, two on a winding")
		f.Hint = diag.Sayf("take one coil a cylinder")
		return []Finding{f}
	},
}

// counts writes a number of things.
func counts(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

var sparkCoils = Rule{
	ID: "spark-coils", Title: "the coils do not make the kind of spark that is stated",
	Why: "A coil a cylinder takes as many windings as there are cylinders, wasted spark half as many, a distributor one. With another number some plugs have no spark, " +
		"or the controller fires outputs that nothing hangs on.",
	Source: "count of windings; common practice", Severity: diag.Fix, Page: "engine",
	Bad:  []buildfile.Edit{edit("distributor", "engine", "spark")},
	Good: []buildfile.Edit{edit("one coil a cylinder", "engine", "spark")},
	Check: func(c *Case) []Finding {
		e := &c.Design.File.Engine
		w := c.Design.Windings()
		want := map[string][]int{"one coil a cylinder": {e.Cylinders}, "wasted spark": {e.Cylinders / 2, e.Cylinders}, "distributor": {1}}[e.Spark]
		odd := e.Spark == "wasted spark" && e.Cylinders%2 == 1 // told by wasted-pairs
		if want == nil || slices.Contains(want, w) || odd {
			return nil
		}
		f := Finding{Target: "engine#spark"}
		f.Pos, f.Subject = c.Design.Place("engine", "spark"), "spark"
		f.Msg = diag.Sayf("%s for %d cylinders takes %s; the coils have %d", e.Spark, e.Cylinders, counts(want[0], "winding"), w)
		f.Value, f.Limit = diag.Sayf("%s", counts(w, "winding")), diag.Sayf("%s", counts(want[0], "winding"))
		f.Hint = diag.Sayf("fit the coils that make this kind of spark, or state the kind that these make")
		for _, v := range []struct {
			kind string
			n    int
		}{{"one coil a cylinder", e.Cylinders}, {"wasted spark", e.Cylinders / 2}, {"distributor", 1}} {
			if w == v.n && (v.kind != "wasted spark" || e.Cylinders%2 == 0) {
				f.Mends = append(f.Mends, to("spark: "+v.kind, v.kind, "engine", "spark")...)
			}
		}
		return []Finding{f}
	},
}
