package alternator

import (
	"math"
	"testing"
)

// TestDumpEnds holds the pulse to the two ends of the standard's table and its
// relation for the resistance.
func TestDumpEnds(t *testing.T) {
	const source = "ISO 16750-2:2012, 4.6.4: test A for 12 V, 79 to 101 V, 0.5 to 4 Ω, 40 to 400 ms; R_i = 10·U_N·n/(0.8·I_R·12000 min⁻¹)"
	for _, r := range []struct {
		ratedA, rotorRPM float64
		want             Dump
	}{
		// 10·14·12000/(0.8·100·12000) = 1.75 Ω, 0.357143 of the way from 0.5 to 4
		{100, 12000, Dump{79 + 22*1.25/3.5, 1.75, 0.040 + 0.360*1.25/3.5}},
		// 10·14·6000/(0.8·175·12000) = 0.5 Ω: the lower end
		{175, 6000, Dump{79, 0.5, 0.040}},
		// 10·14·9600/(0.8·35·12000) = 4 Ω: the upper end
		{35, 9600, Dump{101, 4, 0.400}},
		// beyond the ends the nearest pulse
		{200, 2000, Dump{79, 0.5, 0.040}},
		{35, 18000, Dump{101, 4, 0.400}},
	} {
		got, err := DumpOf(r.ratedA, r.rotorRPM*math.Pi/30)
		if err != nil || math.Abs(got.PeakV-r.want.PeakV) > 1e-9 || math.Abs(got.Ohm-r.want.Ohm) > 1e-12 || math.Abs(got.LastsS-r.want.LastsS) > 1e-12 {
			t.Errorf("%g A at %g rpm: %+v, want %+v (%v; %s)", r.ratedA, r.rotorRPM, got, r.want, err, source)
		}
	}
	for _, bad := range [][2]float64{{0, 100}, {-1, 100}, {math.NaN(), 100}, {100, -1}, {100, 3000}, {100, math.NaN()}} {
		if _, err := DumpOf(bad[0], bad[1]); err == nil {
			t.Errorf("%v: no error", bad)
		}
	}
	for _, bad := range []float64{0.49, 4.01, math.NaN()} {
		if _, err := DumpPeakV(bad); err == nil {
			t.Errorf("%g Ω: no error", bad)
		}
		if _, err := DumpLastsS(bad); err == nil {
			t.Errorf("%g Ω: no error", bad)
		}
	}
}

// TestDumpEnergy holds the closed form to Simpson's rule over the pulse, and the
// most of any clamp to the order that is named for such pulses.
func TestDumpEnergy(t *testing.T) {
	d := Dump{PeakV: 101, Ohm: 4, LastsS: 0.4}
	tau := d.LastsS / math.Log(10)
	for _, clampV := range []float64{16, 24, 35, 60, 100} {
		end := tau * math.Log(d.PeakV/clampV)
		const n = 2000
		sum := 0.0
		for k := range n + 1 {
			w := 2.0 + 2*float64(k%2)
			if k == 0 || k == n {
				w = 1
			}
			sum += w * clampV * (d.PeakV*math.Exp(-end*float64(k)/n/tau) - clampV) / d.Ohm
		}
		want := sum * end / n / 3
		if got := d.EnergyJ(clampV); math.Abs(got-want) > 1e-9*want {
			t.Errorf("clamped at %g V: %.9g J, by Simpson's rule %.9g J", clampV, got, want)
		}
	}
	if d.EnergyJ(101) != 0 || d.EnergyJ(0) != 0 || d.EnergyJ(200) != 0 {
		t.Error("a clamp that the pulse never reaches takes energy")
	}
	most := 0.0
	for v := 1.0; v < 101; v++ {
		most = math.Max(most, d.EnergyJ(v))
	}
	if most < 10 || most > 100 { // "tens of joules", common practice for the worst pulse
		t.Errorf("the most any clamp takes of the worst pulse is %.1f J, want tens of joules", most)
	}
}
