package loom

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"fettle/internal/assign"
	"fettle/internal/design"
)

// engineOf is a vehicle with an engine of n cylinders and more devices.
func engineOf(tb testing.TB, archetype string, n int, order, controller string, more ...string) *design.Design {
	tb.Helper()
	cat, err := items()
	if err != nil {
		tb.Fatal(err)
	}
	src := fmt.Sprintf(`fettle: 1
name: invented
vehicle: {like: car}
engine: {like: %s, cylinders: %d, firing order: %s}
places: {bay: {ground: engine}, bulkhead: {}, cabin: {ground: body}}
routes: [{from: bay, to: bulkhead, length: 1 m}, {from: bulkhead, to: cabin, length: 1 m}]
devices:
  battery: {part: battery 70 Ah, at: bay}
  alternator: {part: alternator 120 A, at: bay}
  starter: {part: starter 1.4 kW, at: bay}
  ignition switch: {part: ignition switch, at: cabin}
  controller: {part: %s, at: cabin}
  injector: {part: injector, at: bay, each: cylinder}
`, archetype, n, order, controller)
	loomed := ""
	for _, m := range more {
		if strings.HasPrefix(m, "loom:") {
			loomed = m
			continue
		}
		src += "  " + m + "\n"
	}
	d, ds := design.Read("build.yaml", []byte(src+loomed), cat)
	none(tb, ds)
	return d
}

func pinsOf(l *Loom) map[string]string {
	out := map[string]string{}
	for _, p := range l.Pins {
		out[p.Device] = p.Pin
	}
	return out
}

// TestChannels wants cylinder n on channel n (common practice), over both runs of
// the large controller, and on a stage's channels where one stands between.
func TestChannels(t *testing.T) {
	d := engineOf(t, "V12", 12, "1-7-5-11-3-9-6-12-2-8-4-10", "large controller", "coil: {part: plug coil, at: bay, each: cylinder}")
	got := pinsOf(plan(t, d))
	for c := 1; c <= 12; c++ {
		injector, coil := fmt.Sprint("A", c), fmt.Sprint("A", c+8)
		if c > 8 {
			injector, coil = fmt.Sprint("A", c+60), fmt.Sprint("A", c+64)
		}
		if got[fmt.Sprintf("injector %d 2", c)] != injector || got[fmt.Sprintf("coil %d signal", c)] != coil {
			t.Errorf("cylinder %d has injector %s and coil %s, want %s and %s", c, got[fmt.Sprintf("injector %d 2", c)], got[fmt.Sprintf("coil %d signal", c)], injector, coil)
		}
	}
	staged := pinsOf(plan(t, engineOf(t, "inline four", 4, "1-3-4-2", "large controller",
		"stage: {part: ignition stage four, at: bay}", "coil: {part: two-wire plug coil, at: bay, each: cylinder}")))
	for c := 1; c <= 4; c++ {
		if a, b := staged[fmt.Sprintf("coil %d 1", c)], staged[fmt.Sprintf("stage in%d", c)]; a != fmt.Sprint("stage A", c) || b != fmt.Sprint("A", c+8) {
			t.Errorf("coil %d hangs on %s, driven by %s", c, a, b)
		}
	}
}

// TestSetsKeepTogether wants each lambda sensor on one amplifier's four pins.
func TestSetsKeepTogether(t *testing.T) {
	got := pinsOf(plan(t, engineOf(t, "V8", 8, "1-8-4-3-6-5-7-2", "large controller",
		"left lambda: {part: lambda sensor, at: bay}", "right lambda: {part: lambda sensor, at: bay}")))
	for i, bank := range []string{"left", "right"} {
		for k, end := range []string{"pump", "nernst", "trim", "zero"} {
			if want := fmt.Sprint("A", 53+12*i+k); got[bank+" lambda "+end] != want {
				t.Errorf("%s lambda %s has pin %s, want %s", bank, end, got[bank+" lambda "+end], want)
			}
		}
	}
}

// TestUserWins fixes pins: they stand, and what would have had them moves on. Pins
// that follow the firing order draw the rest with them.
func TestUserWins(t *testing.T) {
	got := pinsOf(plan(t, engineOf(t, "inline four", 4, "1-3-4-2", "middle controller", "loom: {pins: {injector 1 2: {pin: A2}, injector 2 2: {pin: A1}}}")))
	for end, want := range map[string]string{"injector 1 2": "A2", "injector 2 2": "A1", "injector 3 2": "A3", "injector 4 2": "A4"} {
		if got[end] != want {
			t.Errorf("%s has %s, want %s", end, got[end], want)
		}
	}
	got = pinsOf(plan(t, engineOf(t, "inline four", 4, "1-3-4-2", "middle controller", "loom: {pins: {injector 3 2: {pin: A2}}}")))
	for end, want := range map[string]string{"injector 1 2": "A1", "injector 3 2": "A2", "injector 4 2": "A3", "injector 2 2": "A4"} {
		if got[end] != want {
			t.Errorf("%s has %s, want %s by the firing order", end, got[end], want)
		}
	}
}

// TestSparePinsLieTogether wants the spare ways of every run of pins in one piece
// while the user fixes none.
func TestSparePinsLieTogether(t *testing.T) {
	d := camper(t)
	l := plan(t, d)
	used := map[string]bool{}
	for _, p := range l.Pins {
		used[p.Pin] = true
	}
	names, banks, _ := Ways(d.One("controller").Part.Controller)
	pieces := map[any]int{}
	for i, n := range names {
		if !used[n] && (i == 0 || banks[i-1] != banks[i] || used[names[i-1]]) {
			pieces[banks[i]]++
		}
	}
	for bank, n := range pieces {
		if n > 1 {
			t.Errorf("the spare ways of %+v lie in %d pieces", bank, n)
		}
	}
	if len(pieces) < 5 {
		t.Errorf("only %d runs have spare ways", len(pieces))
	}
}

// TestPinsStandWhatIsAsked holds every pin to the current and the pulses asked of it.
func TestPinsStandWhatIsAsked(t *testing.T) {
	d := camper(t)
	p := newPlanner(d)
	p.assignPins()
	pulsed := 0
	for _, w := range p.wants() {
		b := p.ways()[p.wayFor[w.end]].bank
		if b.CurrentA != nil && w.currentA > b.CurrentA.SI || w.pulseHz > 0 && (b.Slow || b.PulseHz != nil && b.PulseHz.SI < w.pulseHz) {
			t.Errorf("%s: %g A at %g Hz on %v", w.end, w.currentA, w.pulseHz, b.Can)
		}
		if w.pulseHz > 0 {
			pulsed++
		}
	}
	if pulsed < 5 {
		t.Errorf("only %d outputs are pulsed", pulsed)
	}
	total := func(to func(string) int) (sum int64) {
		wants := p.wants()
		cost := p.costs(wants, p.ways())
		for i, w := range wants {
			if cost[i][to(w.end)] == assign.Never {
				t.Fatalf("%s may not have %s", w.end, p.ways()[to(w.end)].name)
			}
			sum += cost[i][to(w.end)]
		}
		return sum
	}
	best := total(func(end string) int { return p.wayFor[end] })
	first := p.firstFit()
	if other := total(func(end string) int { return first[end] }); best > other {
		t.Errorf("the least cost is %d, first fit has %d", best, other)
	}
}

// firstFit gives each in turn the first pin that may serve it.
func (p *planner) firstFit() map[string]int {
	out, used := map[string]int{}, map[int]bool{}
	wants := p.wants()
	cost := p.costs(wants, p.ways())
	for i, w := range wants {
		j := slices.IndexFunc(cost[i], func(c int64) bool { return c != assign.Never })
		for used[j] || cost[i][j] == assign.Never {
			j++
		}
		out[w.end], used[j] = j, true
	}
	return out
}

// TestLackIsExplained asks the small controller for more than it has: three knock
// sensors for one input, and pulsed valves for its low sides.
func TestLackIsExplained(t *testing.T) {
	l := plan(t, engineOf(t, "inline four", 4, "1-3-4-2", "small controller",
		"knock one: {part: knock sensor, at: bay}", "knock two: {part: knock sensor, at: bay}", "knock three: {part: knock sensor, at: bay}",
		"purge: {part: purge valve, at: bay}", "phaser: {part: phaser solenoid, at: bay}"))
	if len(l.Lacks) != 2 || len(l.Short) != 3 {
		t.Fatalf("lacks %+v, short %+v", l.Lacks, l.Short)
	}
	knock := l.Lacks[0]
	if knock.Missing != 2 || len(knock.Ends) != 3 || !slices.Equal(knock.Pins, []string{"A37"}) || !slices.Equal(knock.Needs, []string{"knock"}) || knock.Pos.Line == 0 {
		t.Errorf("knock: %+v", knock)
	}
	if phaser := l.Lacks[1]; phaser.Missing != 1 || len(phaser.Pins) != 0 || !slices.Equal(phaser.Left, []string{"phaser 2"}) {
		t.Errorf("phaser: %+v", phaser)
	}
}

// TestLackNamesGivenPins: a pin that the file gives to another terminal is not
// passed over in silence, whether or not freeing it is enough.
func TestLackNamesGivenPins(t *testing.T) {
	l := plan(t, engineOf(t, "inline four", 4, "1-3-4-2", "small controller",
		"knock one: {part: knock sensor, at: bay}", "knock two: {part: knock sensor, at: bay}", "loom: {pins: {knock two 1: {pin: A37}}}"))
	if len(l.Lacks) != 1 {
		t.Fatalf("lacks %+v", l.Lacks)
	}
	k := l.Lacks[0]
	if k.Missing != 1 || !slices.Equal(k.Left, []string{"knock one 1"}) || len(k.Pins)+len(k.Unfit) > 0 ||
		!slices.Equal(k.Held, []string{"A37"}) || !slices.Equal(k.HeldBy, []string{"knock two 1"}) {
		t.Errorf("%+v, want A37 named, which the file gives to knock two 1", k)
	}
}

func TestRuns(t *testing.T) {
	for want, pins := range map[string][]string{
		"A1": {"A1"}, "A9, A10": {"A9", "A10"}, "A17 to A19, B3": {"A17", "A18", "A19", "B3"}, "stage A1 to stage A3": {"stage A1", "stage A2", "stage A3"}, "": nil,
	} {
		if got := Runs(pins); got != want {
			t.Errorf("%v: %q, want %q", pins, got, want)
		}
	}
}

// BenchmarkAssign gives pins on the large controller to 150 wires, where there
// are not enough of every kind for all.
func BenchmarkAssign(b *testing.B) {
	var more []string
	for i, part := range []string{"temperature sensor", "cam sensor", "oil pressure sensor", "phaser solenoid", "purge valve", "shaft speed sensor", "brake switch", "warning lamp", "shift solenoid"} {
		for k := range 11 + i%3 {
			more = append(more, fmt.Sprintf("device %d %d: {part: %s, at: bay}", i, k, part))
		}
	}
	d := engineOf(b, "V12", 12, "1-7-5-11-3-9-6-12-2-8-4-10", "large controller", append(more,
		"coil: {part: plug coil, at: bay, each: cylinder}", "left: {part: lambda sensor, at: bay}", "right: {part: lambda sensor, at: bay}",
		"throttle: {part: throttle body, at: bay}", "pedal: {part: two-track pedal, at: cabin}", "pump: {part: in-tank pump, at: bay}")...)
	p := newPlanner(d)
	n := len(p.wants())
	b.ReportMetric(float64(n), "wires")
	if n < 150 {
		b.Fatalf("%d wires want a pin", n)
	}
	for b.Loop() {
		p := newPlanner(d)
		p.assignPins()
	}
}
