package catalogue_test

import (
	"math"
	"testing"
)

// TestOldSizes holds the sizes of old looms against published rows.
func TestOldSizes(t *testing.T) {
	const (
		astm   = "ASTM B258, areas of solid round wire, table at wp.1728.org"
		marine = "marine catalogue of 2023, page 70: circular mils of SAE cable, one of which is 5.0671e-4 mm²"
		flight = "FAA AC 43.13-1B, table 11-9, tin-plated wire at 20 °C in Ω per 1000 ft"
	)
	area := []struct {
		name      string
		mm2, frac float64
		source    string
	}{
		{"AWG 4/0", 107.22, 1e-3, astm},
		{"AWG 10", 5.2612, 1e-3, astm},
		{"AWG 14", 2.0809, 1e-3, astm},
		{"AWG 18", 0.8230, 1e-3, astm},
		{"AWG 20", 0.5176, 1e-3, astm},
		{"SAE 18", 0.779, 1e-3, marine},
		{"SAE 16", 1.184, 1e-3, marine},
		{"SAE 14", 1.876, 1e-3, marine},
		{"SAE 12", 2.956, 1e-3, marine},
		{"SAE 10", 4.734, 1e-3, marine},
		{"SAE 2", 62450 * 5.0671e-4, 1e-3, marine},
		{"SAE 4/0", 205500 * 5.0671e-4, 1e-3, marine},
	}
	old := map[string]float64{}
	ohm := map[string]float64{}
	for _, v := range load(t).Cables.OldSizes {
		old[v.Name], ohm[v.Name] = v.Value.AreaM2.SI*1e6, v.Value.OhmPerM.SI
		if share := 0.017241 / old[v.Name] / ohm[v.Name]; share < 0.93 || share > 1 {
			t.Errorf("%s: its resistance is that of %.3f of its copper, want 0.93 to 1 (IEC 60028)", v.Name, share)
		}
	}
	for _, r := range area {
		if got := old[r.name]; math.Abs(got-r.mm2) > r.frac*r.mm2 {
			t.Errorf("%s: %.4g mm², want %.4g (%s)", r.name, got, r.mm2, r.source)
		}
	}
	// Solid wire resists less than twisted by the lay of the strands, 0 to 5 %.
	for name, mohm := range map[string]float64{"AWG 10": 3.28, "AWG 14": 8.28, "AWG 18": 20.94, "AWG 20": 33.29} {
		if got := 1e3 * ohm[name]; got < mohm || got > 1.05*mohm {
			t.Errorf("%s: %.4g mΩ/m, want 100 to 105 %% of solid wire's %g (%s)", name, got, mohm, astm)
		}
	}
	// Aircraft strandings hold up to a fifth more copper than the gauge, and tin
	// adds a few per cent: the two tables agree within 80 and 107 %.
	for name, per1000ft := range map[string]float64{
		"AWG 22": 16.20, "AWG 20": 9.88, "AWG 18": 6.23, "AWG 16": 4.81, "AWG 14": 3.06, "AWG 12": 2.02, "AWG 10": 1.26, "AWG 4": 0.28, "AWG 2": 0.18,
	} {
		want := per1000ft / 304.8
		if got := ohm[name]; got > want*1.07 || got < want*0.80 {
			t.Errorf("%s: %.4g mΩ/m, want 80 to 107 %% of %.4g (%s)", name, 1e3*got, 1e3*want, flight)
		}
	}
	for _, n := range []string{"18", "16", "14", "12", "10"} {
		if share := old["SAE "+n] / old["AWG "+n]; share < 0.88 || share > 0.96 {
			t.Errorf("SAE %s is %.2f of AWG %s, want 0.89 to 0.95 (%s)", n, share, n, marine)
		}
	}
}
