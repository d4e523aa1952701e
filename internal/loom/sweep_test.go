package loom

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/fuse"
	"fettle/internal/wire"
)

// everyBuild reads all examples and all builds without a fault.
func everyBuild(t *testing.T) map[string]*design.Design {
	t.Helper()
	cat, err := items()
	if err != nil {
		t.Fatal(err)
	}
	read := func(src []byte, parts map[string][]byte) *design.Design {
		own, ds := cat.With(parts)
		none(t, ds)
		tree, ds := buildfile.Parse("build.yaml", src)
		none(t, ds)
		d, ds := design.FromTree(tree, own)
		none(t, ds)
		return d
	}
	out := map[string]*design.Design{}
	for _, name := range demo.Names() {
		if name == "clean" {
			continue
		}
		files, err := demo.Files(name)
		if err != nil {
			t.Fatal(err)
		}
		parts := map[string][]byte{}
		for f, text := range files {
			if strings.HasPrefix(f, "parts/") {
				parts[f] = text
			}
		}
		out[name] = read(files["build.yaml"], parts)
	}
	clean, err := filepath.Glob("../demo/clean/*.yaml")
	if err != nil || len(clean) < 20 {
		t.Fatalf("%d builds without a fault (%v), want at least 20", len(clean), err)
	}
	for _, f := range clean {
		src, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out[strings.TrimSuffix(filepath.Base(f), ".yaml")] = read(src, nil)
	}
	return out
}

// after follows a wire's copper in small steps, by other means than the
// damage curve: what it sheds at a temperature is the heat of the current that it
// carries for ever there. It returns the temperature after a time.
func after(t *testing.T, w *Wire, startK, currentA, timeS float64) float64 {
	t.Helper()
	c, p := conductor(w.Cable), w.Lie.Place()
	heatJPerMK := 3.45e6 * c.AreaM2 // IEC 60949
	shed := func(tempK float64) float64 {
		if tempK <= p.AmbientK {
			return 0
		}
		a, err := p.AmpacityA(c, math.Min(tempK, 700))
		if err != nil {
			t.Fatal(err)
		}
		return a * a * wire.ResistanceOhm(1, c.R20OhmPerM, math.Min(tempK, 700))
	}
	rate := func(tempK float64) float64 {
		return (currentA*currentA*wire.ResistanceOhm(1, c.R20OhmPerM, tempK) - shed(tempK)) / heatJPerMK
	}
	tempK, at := startK, 0.0
	for at < timeS {
		step := math.Min(timeS-at, math.Max(timeS/300, math.Min(2/math.Max(math.Abs(rate(tempK)), 1e-9), timeS/20)))
		mid := tempK + rate(tempK)*step/2
		tempK += rate(mid) * step
		at += step
		if tempK > 700 {
			return tempK
		}
	}
	return tempK
}

// TestProtectionSweep tries every wire of every example and of every clean build
// at 40 fault currents from its fuse's rating to the bolted short: up to 1.35
// times the rating it stays within its insulation's class for ever, above that
// the fuse at its slowest opens before the copper passes its limit, 25 K above
// the class for hours and the short-time limit for 5 s. Nothing but the
// starter's cable is left out. A size that the file fixes is tried alike: one that
// does not hold must say so, and does fail by the same means.
func TestProtectionSweep(t *testing.T) {
	const (
		iso  = "ISO 8820-3: up to 1.35 times its rating a fuse need not open; its slowest times above"
		heat = "first law with the heat balance of the place, midpoint steps"
	)
	wires, currents, exempt, limited, fixed := 0, 0, 0, 0, 0
	worst, worstAt := math.Inf(1), ""
	close, closeAt := math.Inf(1), ""
	for name, d := range everyBuild(t) {
		l := plan(t, d)
		for i := range l.Wires {
			w := &l.Wires[i]
			g := &w.Guard
			wires++
			if g.Declared {
				if exempt++; w.Name != "starter cable" {
					t.Errorf("%s: %s is declared an exception: %s", name, w.Name, g.By)
				}
				continue
			}
			if g.By == "nothing" || !g.Holds && !w.Fixed {
				t.Errorf("%s: %s is left unprotected by %s, from %.1f A", name, w.Name, g.By, g.FailA)
			}
			if g.Fuse == "" || g.LimitA > 0 && g.LimitA <= w.AmpacityA {
				limited++
				if g.ShortA > w.AmpacityA && g.Holds {
					t.Errorf("%s: %s may carry %.1f A for ever, and carries %.1f A (%s)", name, w.Name, g.ShortA, w.AmpacityA, g.By)
				}
				continue
			}
			if w.Fixed {
				fixed++
			}
			if !g.Holds {
				if a, ok := failsAt(t, w); !ok {
					t.Errorf("%s: %s, fixed at %s, is said to fail from %.1f A and fails nowhere", name, w.Name, w.Size, g.FailA)
				} else {
					t.Logf("%s: %s, fixed at %s, fails at %.1f A", name, w.Name, w.Size, a)
				}
				continue // the rules say what the user's own size lacks
			}
			start, err := w.Lie.Place().TempK(conductor(w.Cable), w.HeatA)
			if err != nil || w.Brief {
				start = w.Lie.HotK.SI
			}
			for _, a := range g.SweepA() {
				currents++
				if a <= fuse.SureRatio*g.RatingA {
					k, err := w.Lie.Place().TempK(conductor(w.Cable), a)
					if room := w.Insulation.LimitK.SI - k; err != nil || room < -1e-6 {
						t.Errorf("%s: %s settles at %.1f °C under %.1f A, %g times its fuse (%v; %s)", name, w.Name, k-273.15, a, a/g.RatingA, err, iso)
					} else if room < close {
						close, closeAt = room, name+", "+w.Name
					}
					continue
				}
				fuseS, wireS := g.Against(a)
				if !(fuseS <= wireS) {
					t.Errorf("%s: %s stands %.1f A for %.3g s, fuse %s of %g A may take %.3g s (%s)", name, w.Name, a, wireS, g.Fuse, g.RatingA, fuseS, iso)
				}
				if wireS/fuseS < worst {
					worst, worstAt = wireS/fuseS, name+", "+w.Name
				}
				limitK := w.Insulation.ShortK.SI
				if fuseS > 5 {
					limitK = w.Insulation.LimitK.SI + 25
				}
				if k := after(t, w, start, a, fuseS); k > limitK+0.5 {
					t.Errorf("%s: %s is at %.1f °C after %.3g s of %.1f A, allowed %.1f °C (%s)", name, w.Name, k-273.15, fuseS, a, limitK-273.15, heat)
				}
			}
		}
	}
	t.Logf("%d wires, %d of them limited by what is in their loop, %d declared; %d of a fixed size; %d fault currents", wires, limited, exempt, fixed, currents)
	t.Logf("least room at 1.35 times the rating: %.2f K (%s)", close, closeAt)
	t.Logf("least ratio of what the wire stands to what the fuse takes: %.2f (%s)", worst, worstAt)
}

// failsAt is the first current of the sweep at which a wire is hotter than it
// may be, by the means of after.
func failsAt(t *testing.T, w *Wire) (currentA float64, ok bool) {
	t.Helper()
	start, err := w.Lie.Place().TempK(conductor(w.Cable), w.HeatA)
	if err != nil || w.Brief {
		start = w.Lie.HotK.SI
	}
	g := &w.Guard
	for _, a := range append(g.SweepA(), math.Min(g.ShortA, fuse.SureRatio*g.RatingA)) {
		if a <= fuse.SureRatio*g.RatingA {
			if k, err := w.Lie.Place().TempK(conductor(w.Cable), a); err != nil || k > w.Insulation.LimitK.SI {
				return a, true
			}
			continue
		}
		fuseS, _ := g.Against(a)
		limitK := w.Insulation.ShortK.SI
		if fuseS > 5 {
			limitK = w.Insulation.LimitK.SI + 25
		}
		if after(t, w, start, a, math.Min(fuseS, 1e5)) > limitK {
			return a, true
		}
	}
	return 0, false
}

// TestForcedThinWires forces every wire behind a fuse of the three examples to
// half a square millimetre, one at a time: what is then said to hold stands every
// current of the sweep, and what is not fails at one.
func TestForcedThinWires(t *testing.T) {
	const thin = "0.5 mm²"
	builds := everyBuild(t)
	for _, name := range []string{"camper", "roadster", "pickup"} {
		d := builds[name]
		if d == nil {
			t.Fatalf("no example %s", name)
		}
		held, failed := 0, 0
		for _, was := range plan(t, d).Wires {
			if was.Guard.Fuse == "" || was.Guard.Declared || was.Area.SI <= 0.75e-6 || was.Kind == Strap {
				continue
			}
			tree, err := buildfile.Apply(d.Tree, buildfile.Edit{Path: []string{"loom", "wires", was.Name, "size"}, Text: thin})
			if err != nil {
				t.Fatalf("%s: %s: %v", name, was.Name, err)
			}
			now, ds := design.FromTree(tree, d.Cat)
			none(t, ds)
			l := plan(t, now)
			w, ok := l.Wire(was.Name)
			if !ok || !w.Fixed || w.Size != thin {
				t.Errorf("%s: %s is %s, forced to %s", name, was.Name, w.Size, thin)
				continue
			}
			a, fails := failsAt(t, &w)
			if fails == w.Guard.Holds {
				t.Errorf("%s: %s of %s behind %s: said to hold %v, fails %v, at %.1f A", name, w.Name, w.Size, w.Guard.By, w.Guard.Holds, fails, a)
			}
			if fails {
				failed++
			} else {
				held++
			}
		}
		t.Logf("%s: of the wires forced to %s %d fail and %d hold", name, thin, failed, held)
		if failed < 5 {
			t.Errorf("%s: only %d thin wires were found", name, failed)
		}
	}
}

// TestOversizedFuse plants fuses that are too large for their wires, and wires
// that are too small for their fuses.
func TestOversizedFuse(t *testing.T) {
	set := func(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }
	for _, r := range []struct {
		wire  string
		edits []buildfile.Edit
	}{
		{"lambda heater", []buildfile.Edit{set("30 A", "loom", "feeds", "lambda", "fuse"), set("0.75 mm²", "loom", "feeds", "lambda", "size")}},
		{"blower 1", []buildfile.Edit{set("0.75 mm²", "loom", "wires", "blower 1", "size")}},
		{"alternator cable", []buildfile.Edit{set("6 mm²", "loom", "wires", "alternator cable", "size")}},
		{"battery main", []buildfile.Edit{set("10 mm²", "loom", "wires", "battery main", "size")}},
		{"left fan 1", []buildfile.Edit{set("300 A", "loom", "feeds", "fans", "fuse")}},
	} {
		l := plan(t, camper(t, r.edits...))
		w, ok := l.Wire(r.wire)
		if !ok || w.Guard.Holds {
			t.Errorf("%s, %s behind %s: taken as protected", r.wire, w.Size, w.Guard.By)
			continue
		}
		failed := false
		for _, a := range w.Guard.SweepA() {
			f, s := w.Guard.Against(a)
			failed = failed || f > s
		}
		if !failed {
			t.Errorf("%s, %s behind %s: fails at %.1f A and at no current of the sweep", r.wire, w.Size, w.Guard.By, w.Guard.FailA)
		}
	}
}

// TestCoordination holds the data of a time–current chart to the window and the
// wire they are drawn from.
func TestCoordination(t *testing.T) {
	l := plan(t, camper(t))
	n := 0
	for i := range l.Wires {
		w := &l.Wires[i]
		c, ok := l.Coordination(w.Number)
		if ok != (w.Guard.Fuse != "" && w.Guard.damage != nil) {
			t.Errorf("%s behind %s: chart %v", w.Name, w.Guard.By, ok)
		}
		if !ok {
			continue
		}
		n++
		if c.SureA != 1.35*c.RatingA || c.ShortA < c.FarA || c.SteadyA != w.AmpacityA {
			t.Errorf("%s: %+v", w.Name, c)
		}
		for what, list := range map[string][]Instant{"fastest": c.Fastest, "slowest": c.Slowest, "withstand": c.Withstand} {
			for k, p := range list {
				if p.CurrentA > c.ShortA || !(p.TimeS > 0) || math.IsInf(p.TimeS, 0) || k > 0 && (p.CurrentA <= list[k-1].CurrentA || p.TimeS > list[k-1].TimeS) {
					t.Errorf("%s, %s: %v after %v", w.Name, what, p, list[max(0, k-1)])
				}
			}
		}
		for k, p := range c.Slowest {
			if s, _, _ := fuse.Of(c.RatingA).OpenS(c.RatingA, p.CurrentA, true); s != p.TimeS {
				t.Errorf("%s: slowest %v, by the window %g s", w.Name, c.Slowest[k], s)
			}
		}
	}
	if n < 100 {
		t.Errorf("%d wires have a chart", n)
	}
	for _, bad := range []int{0, -1, len(l.Wires) + 1} {
		if _, ok := l.Coordination(bad); ok {
			t.Errorf("wire %d has a chart", bad)
		}
	}
}
