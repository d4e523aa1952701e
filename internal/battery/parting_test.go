package battery

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Two ratings of one battery: 7.5 V after 10 s and 7.2 V after 30 s at the same
// current at −18 °C, from the 12.6 V of rest.
func TestRiseBetweenTheRatings(t *testing.T) {
	const source = "EN 50342-1 and SAE J537, ratings of one battery; equal currents as makers print them (from memory)"
	got, want := AfterOhm(1, 10), (12.6-7.5)/(12.6-7.2)
	if math.Abs(got-want) > 0.01 {
		t.Errorf("after 10 s %.4f of the resistance after 30 s, want %.4f within 0.01 (%s)", got, want, source)
	}
}

func TestPartsMakeTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(1e-3, 1).Draw(t, "ohm")
		if got := AfterOhm(r, 30); math.Abs(got-r) > 1e-12*r {
			t.Fatalf("after 30 s %.12g Ω, want %.12g Ω", got, r)
		}
		a, b := rapid.Float64Range(0, 60).Draw(t, "a"), rapid.Float64Range(0, 60).Draw(t, "b")
		if a < b && !(AfterOhm(r, a) <= AfterOhm(r, b)) {
			t.Fatalf("resistance falls from %g s to %g s", a, b)
		}
		if p := Split(r); AfterOhm(r, 0) != p.AtOnceOhm || p.AtOnceOhm+p.FastOhm+p.SlowOhm < r {
			t.Fatalf("%+v of %g", p, r)
		}
	})
}

func TestAge(t *testing.T) {
	const source = "from memory: renewed at four to seven years, with 60 to 80 % left"
	for years := 4.0; years <= 7; years++ {
		s, err := AgedFrac(years * YearS)
		if err != nil || s < 0.55 || s > 0.80 {
			t.Errorf("after %g years %.2f left, %v, want 0.55 … 0.80 (%s)", years, s, err, source)
		}
	}
	if s, err := AgedFrac(0); s != 1 || err != nil {
		t.Errorf("new: %g, %v", s, err)
	}
	for _, bad := range []float64{-1, 11 * YearS, math.NaN(), math.Inf(1)} {
		if s, err := AgedFrac(bad); err == nil {
			t.Errorf("age %g s gives %g", bad, s)
		}
	}
}
