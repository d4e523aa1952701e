package fuse

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"fettle/internal/wire"

	"pgregory.net/rapid"
)

func celsius(c float64) float64 { return c + 273.15 }

func TestWindow(t *testing.T) {
	const (
		sheet  = "greatest opening time 'ISO 8820-3' in TE Power Relay B data sheet (xonelec.com)"
		blade  = "ISO 8820-3 types C and F, from memory"
		maxi   = "ISO 8820-3 type E, from memory"
		growth = "beyond 6 times the rating the same I²t, by hand"
	)
	never := math.Inf(1)
	for _, r := range []struct {
		c        Curve
		multiple float64
		slowest  bool
		wantS    float64
		source   string
	}{
		{Blade, 1.35, true, 1800, sheet},
		{Blade, 2.0, true, 5, sheet},
		{Blade, 3.5, true, 0.5, sheet},
		{Blade, 6.0, true, 0.1, sheet},
		{Blade, 1.10, true, never, blade},
		{Blade, 1.10, false, 360000, blade},
		{Blade, 1.0, false, never, blade},
		{Blade, 1.35, false, 0.75, blade},
		{Blade, 1.60, false, 0.25, blade},
		{Blade, 1.60, true, 50, blade},
		{Blade, 2.0, false, 0.15, blade},
		{Blade, 3.5, false, 0.04, blade},
		{Blade, 6.0, false, 0.02, blade},
		{MaxiBlade, 1.35, true, 1800, maxi},
		{MaxiBlade, 1.35, false, 60, maxi},
		{MaxiBlade, 2.0, true, 60, maxi},
		{MaxiBlade, 2.0, false, 2, maxi},
		{MaxiBlade, 3.5, true, 7, maxi},
		{MaxiBlade, 3.5, false, 0.2, maxi},
		{MaxiBlade, 6.0, true, 1, maxi},
		{MaxiBlade, 6.0, false, 0.04, maxi},
		{Blade, 12, true, 0.025, growth},
		{Blade, math.Sqrt(2 * 3.5), true, math.Sqrt(5 * 0.5), "log-log middle of 5 s and 0.5 s, by hand"},
	} {
		for _, rating := range []float64{5, 30} {
			got, opens, err := r.c.OpenS(rating, r.multiple*rating, r.slowest)
			name := fmt.Sprintf("%s at %g times %g A, slowest %v", r.c.Name, r.multiple, rating, r.slowest)
			switch {
			case err != nil:
				t.Errorf("%s: %v", name, err)
			case opens == math.IsInf(r.wantS, 1):
				t.Errorf("%s: opens %v, want %g s (%s)", name, opens, r.wantS, r.source)
			case opens && math.Abs(got/r.wantS-1) > 1e-9:
				t.Errorf("%s: %g s, want %g s (%s)", name, got, r.wantS, r.source)
			}
		}
	}
	for _, bad := range [][2]float64{{0, 1}, {-5, 1}, {math.NaN(), 1}, {5, -1}, {5, math.NaN()}, {5, math.Inf(1)}} {
		if got, _, err := Blade.OpenS(bad[0], bad[1], true); err == nil {
			t.Errorf("rating %g A, current %g A: %g s without error", bad[0], bad[1], got)
		}
	}
	if _, _, err := (Curve{}).OpenS(5, 10, true); err == nil {
		t.Error("a curve without points answers")
	}
}

func TestWindowIsOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom([]Curve{Blade, MaxiBlade}).Draw(t, "curve")
		x := rapid.Float64Range(0.1, 60).Draw(t, "multiple")
		more := x * rapid.Float64Range(1, 3).Draw(t, "more")
		fast, slow := c.at(x, false), c.at(x, true)
		if fast > slow || c.at(more, true) > slow || c.at(more, false) > fast || fast <= 0 {
			t.Fatalf("at %g: %g … %g s; at %g: %g … %g s", x, fast, slow, more, c.at(more, false), c.at(more, true))
		}
	})
}

func TestRatings(t *testing.T) {
	const onSale = "automotive fuses: ratings of mini, medium and maxi blade fuses (thelingofpower.blogspot.com, 2007)"
	for i, want := range [][]float64{
		{2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30},
		{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40},
		{20, 30, 40, 50, 60, 70, 80},
	} {
		for _, r := range want {
			if !slices.Contains(Sizes[i].RatingsA, r) {
				t.Errorf("%s lacks %g A (%s)", Sizes[i].Name, r, onSale)
			}
		}
		for _, r := range Sizes[i].RatingsA {
			if r > 100 {
				t.Errorf("%s has %g A, the standard ends at 100 A (ISO 8820-3:2015 scope, standards.iteh.ai)", Sizes[i].Name, r)
			}
			if !slices.Contains(RatingsA, r) {
				t.Errorf("%g A of %s is not among all ratings", r, Sizes[i].Name)
			}
		}
	}
	if !slices.IsSorted(RatingsA) {
		t.Error("ratings do not rise")
	}
}

func TestContinuous(t *testing.T) {
	const rule = "a fuse is rated at 125 % of the load or more (learn-about-electronics.com, fuse ratings); 75 … 80 % common practice"
	for _, r := range RatingsA {
		if share := ContinuousA(r, 0.75, celsius(25)) / r; math.Abs(share-0.75) > 1e-12 {
			t.Errorf("%g A fuse carries %.3f of its rating at 25 °C, want the share it was given (%s)", r, share, rule)
		}
	}
	const derating = "0.1 … 0.2 %/K above 25 °C, from memory: a range check only"
	if perK := (ContinuousA(1, 0.75, celsius(25)) - ContinuousA(1, 0.75, celsius(75))) / ContinuousA(1, 0.75, celsius(25)) / 50; perK < 0.001 || perK > 0.002 {
		t.Errorf("derating %.5f /K (%s)", perK, derating)
	}
	for _, r := range []struct{ loadA, tC, want float64 }{
		{7.5, 25, 10}, // 7.5/0.75 = 10
		{7.6, 25, 15}, // 10.1
		{7.5, 85, 15}, // 10/0.91 = 10.99
		{60, 25, 80},  // 80
		{0.5, 25, 1},  // 0.67
		{74, 25, 100}, // 98.7
		{80, 25, 125}, // 106.7
	} {
		got, ok := Smallest(r.loadA, 0.75, celsius(r.tC))
		if !ok || got != r.want || got < 1.25*r.loadA {
			t.Errorf("load %g A at %g °C: %g A fuse (%v), want %g A (by hand; %s)", r.loadA, r.tC, got, ok, r.want, rule)
		}
	}
	if got, ok := Smallest(230, 0.75, celsius(25)); ok {
		t.Errorf("load 230 A: %g A fuse, want none", got)
	}
	if got, ok := Smallest(math.NaN(), 0.75, celsius(25)); ok {
		t.Errorf("load NaN: %g A fuse, want none", got)
	}
}

func TestColdResistance(t *testing.T) {
	const source = "typical makers' data, from memory, ± 20 %"
	for _, r := range []struct{ ratingA, milliOhm float64 }{{5, 17}, {10, 7.5}, {20, 3.2}, {30, 1.9}} {
		got, err := ColdOhm(r.ratingA)
		if err != nil || math.Abs(got*1e3/r.milliOhm-1) > 0.20 {
			t.Errorf("%g A: %.3g mΩ (%v), want %g mΩ (%s)", r.ratingA, got*1e3, err, r.milliOhm, source)
		}
	}
	for i, r := range RatingsA {
		a, err := ColdOhm(r)
		if err != nil {
			t.Error(err)
		}
		if i > 0 {
			if b, _ := ColdOhm(RatingsA[i-1]); a >= b {
				t.Errorf("%g A has %g Ω, the rating below %g Ω", r, a, b)
			}
		}
	}
	for _, bad := range []float64{0.5, 101, math.NaN()} {
		if got, err := ColdOhm(bad); err == nil {
			t.Errorf("%g A: %g Ω without error", bad, got)
		}
	}
}

// TestInrush sizes a fuse for what a load draws at first.
func TestInrush(t *testing.T) {
	const source = "fastest times of ISO 8820-3: 0.15 s at 2 times the rating, 0.04 s at 3.5 times, 0.02 s at 6 times; by hand"
	for _, r := range []struct {
		pulse Pulse
		want  float64
	}{
		{Pulse{}, 10},           // the load alone: 7.5/0.75
		{Pulse{20, 0.15}, 10},   // twice 10 A is let pass for 0.15 s
		{Pulse{20.1, 0.15}, 15}, // and no more
		{Pulse{35, 0.04}, 10},   //
		{Pulse{60, 0.02}, 10},   //
		{Pulse{120, 0.005}, 10}, // the same I²t: 0.02 · (60/120)²
		{Pulse{121, 0.005}, 15}, //
		{Pulse{70, 0.15}, 40},   // 2 times 35 A
		{Pulse{60, 2}, 50},      // no blade lets 1.5 times its rating pass for 2 s; type E at 50 A does
		{Pulse{590, 1}, 250},    // type E: 2·1.75^(ln 2/ln 10) = 2.367 times in 1 s: 249.3 A
		{Pulse{600, 1}, 300},    // 253.5 A
	} {
		got, ok := Smallest(7.5, 0.75, celsius(25), r.pulse)
		if !ok || got != r.want {
			t.Errorf("load 7.5 A with %g A for %g s: %g A fuse (%v), want %g A (%s)", r.pulse.CurrentA, r.pulse.LastsS, got, ok, r.want, source)
		}
	}
	if (Curve{}).Passes(10, Pulse{1, 1}) || Blade.Passes(0, Pulse{1, 1}) {
		t.Error("no fuse lets a pulse pass")
	}
}

// overload gives an aircraft or vehicle wire of an American gauge, alone in
// still air at 57 °C (135 °F, the chart's ambient), insulation for 105 °C.
func overload(t *testing.T, gauge int) wire.Overload {
	t.Helper()
	a, err := wire.AWGAreaM2(gauge)
	if err != nil {
		t.Fatal(err)
	}
	return wire.Overload{
		Wire:   wire.Conductor{AreaM2: a, R20OhmPerM: wire.SolidOhmPerM(a), OverallDiameterM: 1.15*math.Sqrt(4/math.Pi*a) + 1.2e-3},
		Place:  wire.Place{AmbientK: celsius(57)},
		StartK: celsius(70), SteadyK: celsius(105), OverK: celsius(130), ShortK: celsius(200),
	}
}

func damage(t *testing.T, o wire.Overload) *wire.Damage {
	t.Helper()
	d, err := o.Damage()
	if err != nil {
		t.Fatal(err)
	}
	return &d
}

// Each pair of the chart must pass; a fuse three times as large must not.
func TestHoldsWireAgainstChart(t *testing.T) {
	const chart = "FAA AC 43.13-1B table 11-3 (p 11-15): fuse for a copper wire's gauge"
	for _, r := range []struct {
		gauge   int
		ratingA float64
	}{{22, 5}, {20, 5}, {18, 10}, {16, 10}, {14, 15}, {12, 20}, {10, 30}, {8, 50}, {6, 70}, {4, 70}, {2, 100}, {1, 150}, {0, 150}} {
		d := damage(t, overload(t, r.gauge))
		c := Of(r.ratingA)
		failA, ok, err := c.HoldsWire(r.ratingA, d, 1000)
		t.Logf("%2d AWG, ampacity %5.1f A, fuse %3.0f A: holds %v (%.1f A) %v", r.gauge, d.SteadyA, r.ratingA, ok, failA, err)
		if err != nil || !ok {
			t.Errorf("%d AWG with %g A fails at %.1f A (%v), want it to hold (%s)", r.gauge, r.ratingA, failA, err, chart)
		}
		if failA, ok, err := c.HoldsWire(3*r.ratingA, d, 1000); err != nil || ok || failA > 3*1.35*r.ratingA {
			t.Errorf("%d AWG with %g A: %g A, %v (%v), want it to fail before %g A", r.gauge, 3*r.ratingA, failA, ok, err, 3*1.35*r.ratingA)
		}
	}
}

// A slow fuse before a thin wire in a very cold place: the wire carries 1.35
// times the rating for good, and burns under a short the fuse takes too long
// over. Where HoldsWire says it fails, fuse and wire must say so themselves,
// and they must not a step before.
func TestHoldsWireFindsTheFirstCurrent(t *testing.T) {
	d := damage(t, wire.Overload{
		Wire: wire.Conductor{AreaM2: 1e-6, R20OhmPerM: 18.5e-3, OverallDiameterM: 2.1e-3}, Place: wire.Place{AmbientK: celsius(-60)},
		StartK: celsius(100), SteadyK: celsius(105), OverK: celsius(106), ShortK: celsius(108),
	})
	ratingA := d.SteadyA / 1.36
	failA, ok, err := MaxiBlade.HoldsWire(ratingA, d, 1000)
	if err != nil || ok || failA < d.SteadyA {
		t.Fatalf("fails at %g A, %v, %v; want a failure above the ampacity %g A", failA, ok, err, d.SteadyA)
	}
	at := func(i float64) (fuseS, wireS float64) {
		f, _, err := MaxiBlade.OpenS(ratingA, i, true)
		if err != nil {
			t.Fatal(err)
		}
		return f, d.WithstandS(i)
	}
	if f, w := at(failA); f <= w {
		t.Errorf("at %.1f A the fuse opens in %g s, the wire stands %g s", failA, f, w)
	}
	if f, w := at(failA / 1.041); f > w {
		t.Errorf("already at %.1f A the fuse opens in %g s, the wire stands %g s", failA/1.041, f, w)
	}
	// A short that cannot reach 1.35 times the rating never opens the fuse.
	big := d.SteadyA
	if _, ok, err := MaxiBlade.HoldsWire(big, d, 0.98*d.SteadyA); err != nil || !ok {
		t.Errorf("a short within the ampacity: holds %v (%v), want true", ok, err)
	}
	if failA, ok, err := MaxiBlade.HoldsWire(big, d, 1.1*d.SteadyA); err != nil || ok || failA != d.SteadyA {
		t.Errorf("a short above the ampacity and below 1.35 times the rating: %g A, %v (%v), want failure from %g A", failA, ok, err, d.SteadyA)
	}
	for name, call := range map[string]func() error{
		"no short": func() error { _, _, err := Blade.HoldsWire(10, d, 0); return err },
		"no fuse":  func() error { _, _, err := Blade.HoldsWire(0, d, 100); return err },
		"no wire":  func() error { _, err := wire.Overload{}.Damage(); return err },
		"NaN":      func() error { _, _, err := Blade.HoldsWire(10, d, math.NaN()); return err },
	} {
		if call() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
