package vehicle

import (
	"math"
	"testing"

	"fettle/internal/design"
)

// TestPullInIsOfAHotCoil holds the volts that the main relay wants to the heat
// balance of its coil, found by bisection: T = T_place + ϑ·V²/R(T), with copper's
// 0.00393 /K at 20 °C (IEC 60028), and the pull-in voltage in the ratio of the
// resistances.
func TestPullInIsOfAHotCoil(t *testing.T) {
	v := camper(t)
	r := solved(t, v)
	c := v.coilOf("K1")
	if c == nil {
		t.Fatal("no relay K1")
	}
	const alpha = 0.00393
	volts := r.State(design.Cruise).Point.Net.ElementV(c.id)
	place, ohm := v.placeK(v.Loom.Box).SI, c.part.Relay.CoilOhm.SI
	lo, hi := place, place+300
	for range 60 {
		mid := (lo + hi) / 2
		if place+v.k.coilKPerW.SI*volts*volts/(ohm*(1+alpha*(mid-293.15))) > mid {
			lo = mid
		} else {
			hi = mid
		}
	}
	want := c.part.Relay.OperateV.SI * (1 + alpha*(lo-293.15))
	found := false
	for _, m := range r.Margins {
		if m.Subject != "K1" || m.State != design.KeyOn || m.Unit != "V" {
			continue
		}
		found = true
		if math.Abs(m.Limit-want) > 1e-6 {
			t.Errorf("K1 wants %.4f V hot, the balance of its coil gives %.4f V", m.Limit, want)
		}
		if got := r.State(design.KeyOn).Point.Net.ElementV(c.id); m.Value != got {
			t.Errorf("K1 gets %.4f V, its coil has %.4f V", m.Value, got)
		}
	}
	if !found {
		t.Error("no margin of K1 with the key on")
	}
}
