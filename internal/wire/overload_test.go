package wire

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

var (
	half    = Conductor{0.5e-6, 37.1e-3, 1.6e-3}
	one     = Conductor{1e-6, 18.5e-3, 2.1e-3}
	twoHalf = Conductor{2.5e-6, 7.6e-3, 3.0e-3}
	ten     = Conductor{10e-6, 1.82e-3, 6.3e-3}
	post    = Conductor{35e-6, 0.527e-3, 11.3e-3}

	alone40  = Place{AmbientK: celsius(40)}
	bundle60 = Place{AmbientK: celsius(60), BundleM: 0.012, OthersWPerM: 6}
	bundle85 = Place{AmbientK: celsius(85), BundleM: 0.020, OthersWPerM: 3}
)

// TestPlaceTemperature holds the settled temperature in a bundle of unlike wires
// to the same balance solved by other code.
func TestPlaceTemperature(t *testing.T) {
	const source = "SciPy 1.10, independent code, brentq within brentq"
	for _, r := range []struct {
		c        Conductor
		p        Place
		currentA float64
		wantK    float64
	}{
		{one, alone40, 12, 334.99563958786734},
		{one, bundle60, 6, 350.61759929766333},
		{half, bundle85, 3, 365.0471673767017},
		{ten, bundle60, 40, 357.0188785741311},
		{post, alone40, 150, 344.3314899794021},
		{twoHalf, bundle85, 8, 365.3674616398255},
	} {
		got, err := r.p.TempK(r.c, r.currentA)
		if err != nil || math.Abs(got-r.wantK) > 1e-5 {
			t.Errorf("%g mm² at %g A: %.6f K (%v), want %.6f K (%s)", r.c.AreaM2*1e6, r.currentA, got, err, r.wantK, source)
		}
		back, err := r.p.AmpacityA(r.c, r.wantK)
		if err != nil || math.Abs(back/r.currentA-1) > 1e-6 {
			t.Errorf("%g mm² at %g K: %.6f A (%v), want %g A (%s)", r.c.AreaM2*1e6, r.wantK, back, err, r.currentA, source)
		}
	}
}

// Alone, a place is what SteadyTempK computes; among like wires the two models
// differ in where the wire lies, by less than a fifth of the rise.
func TestPlaceAgreesWithLikeWires(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		area := rapid.Float64Range(0.35e-6, 30e-6).Draw(t, "m²")
		c := Conductor{area, SolidOhmPerM(area) * 1.08, math.Sqrt(4/math.Pi*area)*1.15 + 1e-3}
		ambient := rapid.Float64Range(260, 380).Draw(t, "ambient")
		i := area * 1e6 * rapid.Float64Range(0.5, 4).Draw(t, "A/mm²")
		like, err1 := SteadyTempK(c, i, ambient, 1, 1)
		got, err2 := Place{AmbientK: ambient}.TempK(c, i)
		if err1 != nil || err2 != nil || math.Abs(got-like) > 1e-5 {
			t.Fatalf("alone %g K (%v), by SteadyTempK %g K (%v)", got, err2, like, err1)
		}
		n := rapid.IntRange(7, 40).Draw(t, "n")
		like, err1 = SteadyTempK(c, i, ambient, n, 1)
		if err1 != nil || ambient+1.2*(like-ambient) > celsius(500) { // a fifth more would be out of range
			t.Skip("too hot")
		}
		others := float64(n-1) * i * i * ResistanceOhm(1, c.R20OhmPerM, like)
		got, err2 = Place{AmbientK: ambient, BundleM: BundleM(float64(n) * c.OverallDiameterM * c.OverallDiameterM), OthersWPerM: others}.TempK(c, i)
		if err2 != nil || math.Abs((got-ambient)/(like-ambient)-1) > 0.2 {
			t.Fatalf("%d wires: %g K (%v), by SteadyTempK %g K", n, got, err2, like)
		}
	})
}

// TestHeating integrates the same balance by other code.
func TestHeating(t *testing.T) {
	const source = "SciPy 1.10 solve_ivp LSODA, relative tolerance 1e-10, independent code, event at the limit"
	for _, r := range []struct {
		c                            Conductor
		p                            Place
		currentA, startC, endC, want float64
	}{
		{one, alone40, 30, 60, 130, 20.36608435883632},
		{one, alone40, 100, 60, 160, 1.4544547872505096},
		{one, bundle60, 20, 80, 130, math.Inf(1)},
		{one, bundle60, 40, 80, 160, 9.707266051326547},
		{half, bundle85, 12, 92, 130, math.Inf(1)},
		{half, bundle85, 60, 92, 160, 0.6505670693920402},
		{ten, bundle60, 110, 75, 130, 116.52938490734145},
		{post, alone40, 400, 60, 160, 159.58245723150046},
		{twoHalf, bundle85, 200, 95, 160, 1.3335292634711806},
		{one, alone40, 23.5, 60, 130, math.Inf(1)},
	} {
		o := Overload{Wire: r.c, Place: r.p, StartK: celsius(r.startC), SteadyK: celsius(105), OverK: celsius(130), ShortK: celsius(160)}
		d, err := o.Damage()
		if err != nil {
			t.Fatal(err)
		}
		got := d.HeatingS(r.currentA, r.endC == 160)
		name := fmt.Sprintf("%g mm² at %g A from %g to %g °C", r.c.AreaM2*1e6, r.currentA, r.startC, r.endC)
		if math.IsInf(r.want, 1) != math.IsInf(got, 1) {
			t.Errorf("%s: %g s, want %g s (%s)", name, got, r.want, source)
			continue
		}
		if !math.IsInf(got, 1) {
			t.Logf("%s: %.5g s, reference %.5g s: %+.3f %%", name, got, r.want, (got/r.want-1)*100)
			near(t, name, got, r.want, 2e-3, source) // the Accuracy that HeatingS states
		}
	}
}

func TestDamage(t *testing.T) {
	o := Overload{Wire: one, Place: alone40, StartK: celsius(60), SteadyK: celsius(105), OverK: celsius(130), ShortK: celsius(160)}
	d, err := o.Damage()
	if err != nil {
		t.Fatal(err)
	}
	const adiabatic = "IEC 60949: (226·10⁶·A/I)²·ln(394.5/294.5), by hand; the wire has 7 % more resistance than solid copper of its area"
	near(t, "1 kA", d.WithstandS(1000)*one.R20OhmPerM/SolidOhmPerM(1e-6), 0.014936, 5e-3, adiabatic)
	if got := d.WithstandS(23.5); got != 240*3600 { // settles at 125 °C
		t.Errorf("23.5 A, which settles below the limit for hours: %g s, want 240 h (ISO 6722 short-term test, from memory)", got)
	}
	if got := d.WithstandS(d.SteadyA); !math.IsInf(got, 1) {
		t.Errorf("at its ampacity the wire stands %g s, want for good", got)
	}
	for name, spoil := range map[string]func(*Overload){
		"no copper":       func(o *Overload) { o.Wire.AreaM2 = 0 },
		"no insulation":   func(o *Overload) { o.Wire.OverallDiameterM = 1e-3 },
		"start too hot":   func(o *Overload) { o.StartK = celsius(110) },
		"start too cold":  func(o *Overload) { o.StartK = celsius(20) },
		"short too cold":  func(o *Overload) { o.ShortK = celsius(100) },
		"short too hot":   func(o *Overload) { o.ShortK = celsius(900) },
		"over too cold":   func(o *Overload) { o.OverK = celsius(100) },
		"ambient in °C":   func(o *Overload) { o.Place.AmbientK = 40 },
		"limit not known": func(o *Overload) { o.SteadyK = math.NaN() },
		"others not known": func(o *Overload) {
			o.Place.OthersWPerM = math.NaN()
		},
		"bundle below 0": func(o *Overload) { o.Place.BundleM = -1 },
	} {
		bad := o
		spoil(&bad)
		if _, err := bad.Damage(); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if _, err := (Place{AmbientK: 300}).TempK(one, math.NaN()); err == nil {
		t.Error("a current that is no number: accepted")
	}
	if _, err := (Place{AmbientK: 300}).TempK(one, 500); err == nil {
		t.Error("a current that melts the wire: accepted")
	}
	if _, err := (Place{AmbientK: 300}).AmpacityA(one, 290); err == nil {
		t.Error("a limit below ambient: accepted")
	}
	if a, err := (Place{AmbientK: 370, BundleM: 0.01, OthersWPerM: 100}).AmpacityA(one, celsius(105)); err != nil || a != 0 {
		t.Errorf("a wire that its neighbours overheat carries %g A (%v), want 0", a, err)
	}
}

// TestWithstandFallsWithCurrent holds what any damage curve has: more current,
// less time; a hotter start, less time; never longer than the adiabatic law
// allows within 5 s.
func TestWithstandFallsWithCurrent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		area := rapid.Float64Range(0.35e-6, 50e-6).Draw(t, "m²")
		c := Conductor{area, SolidOhmPerM(area) * 1.08, math.Sqrt(4/math.Pi*area)*1.15 + 1e-3}
		p := Place{AmbientK: rapid.Float64Range(253, 365).Draw(t, "ambient"), BundleM: rapid.Float64Range(0, 0.03).Draw(t, "bundle"), OthersWPerM: rapid.Float64Range(0, 2).Draw(t, "others")}
		start := rapid.Float64Range(p.AmbientK, 378.15).Draw(t, "start")
		o := Overload{Wire: c, Place: p, StartK: start, SteadyK: 378.15, OverK: 403.15, ShortK: 433.15}
		d, err := o.Damage()
		if err != nil {
			t.Fatal(err)
		}
		i := math.Max(d.SteadyA, 1) * rapid.Float64Range(1.001, 50).Draw(t, "x")
		a, b := d.WithstandS(i), d.WithstandS(i*1.1)
		if !(a > 0 && b > 0 && b <= a) && start < 403 {
			t.Fatalf("%g s at %g A, %g s at 10 %% more", a, i, b)
		}
		o.StartK = (start + 378.15) / 2
		hot, err := o.Damage()
		if err != nil || hot.WithstandS(i) > a*(1+1e-3) {
			t.Fatalf("%g s from %g K, %g s from %g K (%v)", a, start, hot.WithstandS(i), o.StartK, err)
		}
	})
}

func BenchmarkDamage(b *testing.B) {
	o := Overload{Wire: one, Place: bundle60, StartK: celsius(80), SteadyK: celsius(105), OverK: celsius(130), ShortK: celsius(160)}
	b.Run("make", func(b *testing.B) {
		for b.Loop() {
			if _, err := o.Damage(); err != nil {
				b.Fatal(err)
			}
		}
	})
	d, err := o.Damage()
	if err != nil {
		b.Fatal(err)
	}
	b.Run("ask", func(b *testing.B) {
		for b.Loop() {
			d.WithstandS(40)
		}
	})
}
