package driveline

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const (
	deg  = math.Pi / 180
	rpm  = math.Pi / 30
	inch = 0.0254
	mile = 1609.344
	mph  = mile / 3600
)

func near(t *testing.T, name string, got float64, err error, want, tol float64, source string) {
	t.Helper()
	if err != nil || !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.6g, %v, want %.6g within %g (%s)", name, got, err, want, tol, source)
	}
}

func TestTyre(t *testing.T) {
	const source = "size code arithmetic"
	d, err := TyreM(0.205, 0.55, 16*inch)
	near(t, "diameter", d, err, 0.6319, 1e-5, source)
	near(t, "outline", math.Pi*d, nil, 1.9852, 3e-5, source)
	near(t, "revolutions per mile, outline", mile/(math.Pi*d), nil, 810.7, 1e-4, source)
	c, err := RollingM(d)
	near(t, "rolling", c, err, 1.9273, 3e-5, "ETRTO 3.05 D, from memory")
	near(t, "revolutions per mile", mile/c, nil, 835.0, 1e-4, "ETRTO 3.05 D, from memory")
	near(t, "factor", RollingRatio, nil, 0.9708, 1e-4, "3.05/π")
	near(t, "30 inch, revolutions per mile", mile/(math.Pi*30*inch), nil, 672.3, 1e-4, "ehow.com, wheel speed")
}

func TestRoadSpeed(t *testing.T) {
	for _, r := range []struct {
		name                      string
		rpm, circleIn, gear, axle float64
		wantMPH, tol              float64
		source                    string
	}{
		{"26 inch, 3.73", 3000, 26 * math.Pi, 1, 3.73, 62.21, 1e-4, "mph = rpm D/(ratio 336.135), derived; race-track.com prints 336"},
		{"235/75R15 as measured", 2200, 87.5, 0.8, 3.55, 64.2, 1e-3, "cartalk.com thread 200200"},
		{"30 inch wheel", 300, 30 * math.Pi, 1, 1, 26.8, 2e-3, "ehow.com, wheel speed"},
	} {
		v, err := RoadMPerS(r.rpm*rpm, r.circleIn*inch, r.gear, r.axle, 0)
		near(t, r.name, v/mph, err, r.wantMPH, r.tol, r.source)
		back, err := EngineRadPerS(v, r.circleIn*inch, r.gear, r.axle, 0)
		near(t, r.name+", back", back/rpm, err, r.rpm, 1e-12, "inverse")
	}
}

func TestRoadLoad(t *testing.T) {
	const source = "road load equation, recomputed with g 9.81"
	car := Vehicle{1500, 0.65, 0.012}
	v := 100 / 3.6
	f, err := RoadLoadN(car, v, 0, 1.2)
	near(t, "force", f, err, 176.6+300.9, 5e-4, source)
	p, err := RoadLoadW(car, v, 0, 1.2)
	near(t, "power", p, err, 13.26e3, 5e-4, source)
	c, err := RollingFrac(2.9e5, 90/3.6)
	near(t, "rolling resistance", c, err, 0.0111, 5e-3, "engineeringtoolbox.com, rolling resistance (last printed digit)")
	up, err := RoadLoadN(car, 0, 0.1, 1.2)
	near(t, "10 % grade", up, err, 1500*9.80665*(math.Sin(math.Atan(0.1))+0.012*math.Cos(math.Atan(0.1))), 1e-12, "statics")
}

func TestHooke(t *testing.T) {
	const source = "closed form, recomputed"
	most, err := HookeRatio(3*deg, 0)
	near(t, "most", most, err, 1.00137, 5e-6, source)
	least, err := HookeRatio(3*deg, math.Pi/2)
	near(t, "least", least, err, 0.99863, 5e-6, source)
	for d, want := range map[float64]float64{3: 0.002743, 5: 0.007625, 10: 0.03062} {
		u, err := HookeSwingFrac(d * deg)
		near(t, "fluctuation", u, err, want, 2e-4, source)
	}
	b, err := HookeAngleRad(LimitSwingFrac)
	near(t, "limit angle", b/deg, err, 2.977, 2e-4, "elbe-group.de, shaft guidance; recomputed")
}

func TestTheoryOfMachines(t *testing.T) {
	const source = "Khurmi & Gupta, Theory of Machines, example "
	b, err := HookeAngleRad(0.12)
	near(t, "12 %", b/deg, err, 19.64, 1e-3, source+"9.4")
	b, err = HookeAngleRad(100. / 1200)
	near(t, "100 of 1200 rpm", b/deg, err, 16.42, 1e-3, source+"9.5")
	most, err := HookeRatio(b, 0)
	near(t, "most", 1200*most, err, 1251, 1e-3, source+"9.5")
	least, err := HookeRatio(b, math.Pi/2)
	near(t, "least", 1200*least, err, 1151, 1e-3, source+"9.5")
	a, err := HookeAccelRadPerS2(20*deg, 1500*rpm)
	near(t, "acceleration", a, err, 3080, 2e-3, source+"9.2") // page uses an approximate angle; exact 3083
	near(t, "acceleration, exact", a, err, 3083, 2e-4, "SciPy, maximum over the turn")
	up, err := HookeRatio(20*deg, 0)
	near(t, "intermediate, most", 500*up, err, 532.1, 1e-3, source+"9.7")
	near(t, "output, most", 500*up*up, err, 566.24, 1e-3, source+"9.7")
	down, err := HookeRatio(20*deg, math.Pi/2)
	near(t, "intermediate, least", 500*down, err, 469.85, 1e-3, source+"9.7")
	near(t, "output, least", 500*down*down, err, 441.5, 1e-3, source+"9.7")
}

func TestCriticalSpeed(t *testing.T) {
	steel := func(outer, wall, length float64) Tube {
		return Tube{outer, outer - 2*wall, length, 205e9, 7850}
	}
	const source = "beam theory, recomputed"
	for mm, want := range map[float64]float64{1200: 8818, 1400: 6478, 1500: 5643, 1600: 4960} {
		w, err := CriticalRadPerS(steel(0.0762, 0.00165, mm/1000))
		near(t, "76.2 × 1.65", w/rpm, err, want, 1e-4, source)
	}
	w, err := CriticalRadPerS(Tube{0.0762, 0.0702, 1.2, 200e9, 7850})
	near(t, "76.2 × 3.0", w/rpm, err, 8557, 1e-3, "machinecalcs.com, shaft whirl")
	lb := 0.45359237 / (inch * inch * inch)
	w, err = CriticalRadPerS(Tube{3.5 * inch, (3.5 - 2*0.083) * inch, 45 * inch, 30e6 * 6894.757, 0.283 * lb})
	near(t, "3.5 inch", w/rpm, err, 11379, 1e-3, "calcady.com, shaft whirl (prints 11 390, rounded on the way)")
}

// Speeds of a joint average to that of the driving shaft, and angle and
// fluctuation undo each other.
func TestHookeShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.Float64Range(0, 0.79).Draw(t, "angle")
		sum, most := 0.0, 0.0
		const n = 2000
		for i := range n {
			r, _ := HookeRatio(b, 2*math.Pi*float64(i)/n)
			sum += r
			most = max(most, r)
		}
		if math.Abs(sum/n-1) > 1e-9 {
			t.Fatalf("mean ratio %g", sum/n)
		}
		u, _ := HookeSwingFrac(b)
		back, err := HookeAngleRad(u)
		if err != nil || math.Abs(back-b) > 1e-7 {
			t.Fatalf("%g came back as %g, %v", b, back, err)
		}
		// greatest acceleration against a fine search
		want := 0.0
		for i := range n {
			th := math.Pi * float64(i) / n
			s := math.Sin(b) * math.Sin(b)
			d := 1 - s*math.Cos(th)*math.Cos(th)
			want = max(want, math.Cos(b)*s*math.Sin(2*th)/(d*d))
		}
		got, _ := HookeAccelRadPerS2(b, 1)
		if math.Abs(got-want) > 1e-4*want+1e-15 {
			t.Fatalf("acceleration %g, by search %g", got, want)
		}
	})
}

func TestPair(t *testing.T) {
	same, err := PairAngleRad(0.05, 0.05, true)
	if err != nil || same != 0 {
		t.Errorf("equal angles leave %g, %v", same, err)
	}
	wrong, err := PairAngleRad(3*deg, 4*deg, false)
	near(t, "a quarter turn apart", wrong/deg, err, 5, 1e-12, "Pythagoras")
}

func TestRefusals(t *testing.T) {
	for name, err := range map[string]error{
		"tyre in mm":    second(TyreM(205, 55, 16)),
		"diameter":      second(RollingM(25)),
		"gear":          second(RoadMPerS(300, 1.9, 0, 3.7, 0)),
		"slip":          second(EngineRadPerS(30, 1.9, 1, 3.7, 1)),
		"grade percent": second(RoadLoadN(Vehicle{1500, 0.65, 0.012}, 20, 6, 1.2)),
		"joint":         second(HookeRatio(20, 0)),
		"inner":         second(CriticalRadPerS(Tube{0.07, 0.08, 1, 2e11, 7850})),
		"NaN":           second(RoadLoadN(Vehicle{math.NaN(), 0.65, 0.012}, 20, 0, 1.2)),
		"tyre pressure": second(RollingFrac(2.9, 20)),
	} {
		if err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func second(_ float64, err error) error { return err }
