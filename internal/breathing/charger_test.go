package breathing

import (
	"math"
	"testing"
)

// TestChargedK holds the charger's outlet to the isentropic tables of air, whose
// temperature ratio at a pressure ratio is what an ideal charger makes, and to
// the definitions of efficiency and effectiveness.
func TestChargedK(t *testing.T) {
	const tables = "NACA report 1135, table I: p/p_t and T/T_t at M 0.5, 1 and 1.5"
	for _, c := range []struct {
		name                      string
		beforeK, ratio, eff, cool float64
		want, tolK                float64
		source                    string
	}{
		{"M 0.5", 300, 1 / 0.8430, 0.9, 0, 300 + 300*(1/0.9524-1)/0.9, 0.05, tables + ", over an efficiency of 0.9"},
		{"M 1", 300, 1 / 0.5283, 0.9, 0, 300 + 300*(1/0.8333-1)/0.9, 0.05, tables + ", over an efficiency of 0.9"},
		{"M 1.5", 300, 1 / 0.2724, 0.9, 0, 300 + 300*(1/0.6897-1)/0.9, 0.1, tables + ", over an efficiency of 0.9"},
		{"0.7 of it", 300, 1 / 0.5283, 0.7, 0, 300 + 60/0.7, 0.05, tables + ", over an efficiency of 0.7"},
		{"cooled by 0.7", 300, 1 / 0.5283, 0.7, 0.7, 300 + 0.3*60/0.7, 0.05, "definition of the effectiveness"},
		{"cooled to the end", 300, 1.8, 0.7, 1, 300, 1e-9, "definition of the effectiveness"},
		{"no pressure", 300, 1, 0.7, 0, 300, 0, "nothing is pressed together"},
		{"under the throttle", 300, 0.4, 0.7, 0, 300, 0, "nothing is pressed together"},
	} {
		got, err := ChargedK(c.beforeK, c.ratio, c.eff, c.cool)
		if err != nil || math.Abs(got-c.want) > c.tolK {
			t.Errorf("%s: %.3f K (%v), want %.3f ± %g (%s)", c.name, got, err, c.want, c.tolK, c.source)
		}
	}
	for _, bad := range [][4]float64{{100, 1.5, 0.7, 0}, {300, 6, 0.7, 0}, {300, 1.5, 0.1, 0}, {300, 1.5, 0.7, 1.1}, {math.NaN(), 1.5, 0.7, 0}} {
		if _, err := ChargedK(bad[0], bad[1], bad[2], bad[3]); err == nil {
			t.Errorf("%v passes", bad)
		}
	}
}

// TestTurbineTakesTorque holds that what a turbine holds back costs torque and
// air under boost, and nothing below the ambient pressure.
func TestTurbineTakesTorque(t *testing.T) {
	in := five()
	in.BoostPa = 80e3
	in.SpeedRadPerS = []float64{200, 400}
	in.ManifoldPa = []float64{60e3, in.AmbientPa, in.AmbientPa + in.BoostPa}
	free, err := Solve(in)
	if err != nil {
		t.Fatal(err)
	}
	in.TurbineRatio = 1.2
	held, err := Solve(in)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		for j := range 3 {
			k := free.TorqueNm.Cell(i, j)
			less := held.TorqueNm.Z[k] < free.TorqueNm.Z[k] && held.AirKgPerS.Z[k] < free.AirKgPerS.Z[k]
			if same := held.TorqueNm.Z[k] == free.TorqueNm.Z[k]; j < 2 && !same || j == 2 && !less {
				t.Errorf("row %d, column %d: torque %.2f with a turbine, %.2f without", i, j, held.TorqueNm.Z[k], free.TorqueNm.Z[k])
			}
		}
	}
}

// The power of a belt-driven charger is what warms the air, over what its belt
// passes on: the first law for the air that goes through it.
func TestChargerPower(t *testing.T) {
	for _, c := range []struct{ air, k, ratio, eta, belt float64 }{{0.1, 300, 1.8, 0.6, 0.9}, {0.05, 320, 1.3, 0.7, 0.95}} {
		got, err := ChargerW(c.air, c.k, c.ratio, c.eta, c.belt)
		hot, kErr := ChargedK(c.k, c.ratio, c.eta, 0)
		if want := c.air * 1005 * (hot - c.k) / c.belt; err != nil || kErr != nil || math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%+v: %g W, want %g (%v, %v)", c, got, want, err, kErr)
		}
	}
	// 0.1 kg/s from 300 K to 1.8 times the pressure: T₂/T₁ = 1.8^(2/7) = 1.1829 (NACA 1135, table I at p/p_t 0.5556)
	if got, err := ChargerW(0.1, 300, 1.8, 0.6, 0.9); err != nil || math.Abs(got/(0.1*1005*300*0.1829/0.54)-1) > 1e-3 {
		t.Errorf("%g W (%v)", got, err)
	}
	if got, err := ChargerW(0.1, 300, 0.7, 0.6, 0.9); err != nil || got != 0 {
		t.Errorf("throttled: %g W (%v), want none, the bypass is open", got, err)
	}
	if _, err := ChargerW(0.1, 300, 1.8, 0.6, 0.2); err == nil {
		t.Error("a drive that passes on a fifth: accepted")
	}
}
