package vehicle_test

import (
	"math"
	"testing"

	"fettle/internal/gas"
	"fettle/internal/vehicle"
)

// TestAtRatedRatio holds the flow of an injector at one pressure against another
// to published roots and to figures of the trade.
func TestAtRatedRatio(t *testing.T) {
	const bar, psi = 1e5, 6894.757
	const root = "incompressible orifice, Q ∝ √Δp"
	tests := []struct {
		name              string
		acrossPa, ratedPa float64
		want, tol         float64
		source            string
	}{
		{"2.5 of 3.0 bar", 2.5 * bar, 3 * bar, 0.91287, 1e-5, root},
		{"3.5 of 3.0 bar", 3.5 * bar, 3 * bar, 1.08012, 1e-5, root},
		{"4.0 of 3.0 bar", 4 * bar, 3 * bar, 1.15470, 1e-5, root},
		{"4.5 of 3.0 bar", 4.5 * bar, 3 * bar, 1.22474, 1e-5, root},
		{"4.0 bar unreferenced at 35 kPa", vehicle.AcrossPa(4*bar, 101325, 35e3), 4 * bar, 1.080, 5e-4, root + ", printed to 0.1 %"},
		{"4.0 bar unreferenced at 0.8 bar boost", vehicle.SetAcrossPa(4*bar, 0.8*bar, false), 4 * bar, 1 - 0.106, 5e-4, root + ", printed to 0.1 %"},
		{"4.0 bar referenced at 0.8 bar boost", vehicle.SetAcrossPa(4*bar, 0.8*bar, true), 4 * bar, 1, 0, "definition"},
		{"60 psi data at 58", 58 * psi, 60 * psi, 1, 0.02, "common practice: within 2 %"},
		{"43 psi data at 40", 40 * psi, 43 * psi, 1, 0.04, "common practice: within 4 %"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := vehicle.AtRatedRatio(tt.acrossPa, tt.ratedPa); math.Abs(got-tt.want) > tt.tol {
				t.Errorf("got %.6f, want %g ± %g (%s)", got, tt.want, tt.tol, tt.source)
			}
		})
	}
}

// TestBoostedPa holds the manifold's pressure under boost to the standard
// atmosphere: 0.8 bar above 89875 Pa at 1000 m (ISO 2533).
func TestBoostedPa(t *testing.T) {
	ambient, err := gas.AtmospherePa(1000)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := vehicle.BoostedPa(ambient, 0.8e5), 169875.0; math.Abs(got-want) > 5 {
		t.Errorf("got %.1f Pa, want %.0f (ISO 2533, printed to 1 Pa)", got, want)
	}
}
