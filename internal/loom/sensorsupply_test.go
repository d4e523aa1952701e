package loom

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// fewest tries every way to share items out and returns the least number of
// groups within the limit that keep one owner's items apart.
func fewest(amps []float64, owner []string, limit float64) int {
	best := len(amps) + 1
	of := make([]int, len(amps))
	var try func(i, used int)
	try = func(i, used int) {
		if used >= best {
			return
		}
		if i == len(amps) {
			best = used
			return
		}
		for g := range used + 1 {
			sum, clash := amps[i], false
			for j := range i {
				if of[j] == g {
					sum += amps[j]
					clash = clash || owner[j] == owner[i]
				}
			}
			if clash || sum > limit*(1+1e-9) && sum > amps[i] {
				continue
			}
			of[i] = g
			try(i+1, max(used, g+1))
		}
	}
	try(0, 0)
	return best
}

// TestShareOutFewest holds the sharing of sensors among supply pins to trying
// every way there is.
func TestShareOutFewest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "sensors")
		amps, owner := make([]float64, n), make([]string, n)
		for i := range n {
			amps[i] = float64(rapid.IntRange(1, 120).Draw(t, "milliamperes")) / 1000
			owner[i] = rapid.SampledFrom([]string{"a", "b", "c", "d", "e"}).Draw(t, "device")
		}
		of := shareOut(amps, owner, 0.150, n)
		groups := 0
		for g := range n {
			sum, items := 0.0, 0
			seen := map[string]bool{}
			for i := range n {
				if of[i] != g {
					continue
				}
				sum, items = sum+amps[i], items+1
				if seen[owner[i]] {
					t.Fatalf("%q hangs twice on group %d: %v", owner[i], g, of)
				}
				seen[owner[i]] = true
			}
			if items > 1 && sum > 0.150+1e-9 {
				t.Fatalf("group %d takes %g A: %v", g, sum, of)
			}
			if items > 0 {
				groups++
			}
		}
		if want := fewest(amps, owner, 0.150); groups != want {
			t.Fatalf("%d groups for %v of %v, %d do", groups, amps, owner, want)
		}
	})
}

// One pin only: what a pedal takes twice shares it.
func TestShareOutOnePin(t *testing.T) {
	if of := shareOut([]float64{0.005, 0.005, 0.010}, []string{"pedal", "pedal", "cam"}, 0.150, 1); !slices.Equal(of, []int{0, 0, 0}) {
		t.Errorf("with one pin the groups are %v", of)
	}
}

// TestSupplyGroups holds the camper's sensors to their supplies: a pedal's tracks
// apart, every pin within its current.
func TestSupplyGroups(t *testing.T) {
	l := plan(t, camper(t))
	at := map[string]string{}
	for _, w := range l.Wires {
		for _, s := range w.Served {
			if w.Kind == Signal && len(w.Served) == 1 {
				at[s] = w.To.Node
			}
		}
	}
	if a, b := at["pedal supply1"], at["pedal supply2"]; a == "" || a == b {
		t.Errorf("the pedal's tracks hang on %q and %q", a, b)
	}
	n := 0
	for _, p := range l.Pins {
		if p.Can == SensorSupply {
			n++
		}
	}
	if n != 2 {
		t.Errorf("%d supply pins are in use, want 2: two tracks, and a sum below 150 mA each", n)
	}
}

// A thermistor of 2.5 kΩ at 20 °C moves most of the supply over 2.2 kΩ, and next
// to nothing over 100 kΩ; by hand.
func TestSwingFrac(t *testing.T) {
	const divider = "voltage divider, by hand: 26/(26+R) − 0.11/(0.11+R)"
	for _, tt := range []struct{ upOhm, want float64 }{{2200, 0.87435}, {100e3, 0.20525}} {
		if got := SwingFrac(26e3, 110, tt.upOhm); math.Abs(got-tt.want) > 1e-4 {
			t.Errorf("over %g Ω: %.5f, want %.5f (%s)", tt.upOhm, got, tt.want, divider)
		}
	}
}
