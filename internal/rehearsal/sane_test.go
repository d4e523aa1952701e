package rehearsal

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/battery"
	"fettle/internal/breathing"
	"fettle/internal/calibrate"
	"fettle/internal/catalogue"
	"fettle/internal/crank"
	"fettle/internal/driveline"
	"fettle/internal/enginemap"
	"fettle/internal/figure"
	"fettle/internal/petrol"
	"fettle/internal/plant"
	"fettle/internal/starter"
)

const deg = math.Pi / 180

// sane is an invented engine in an invented car, drawn by a number: 2 to 12
// cylinders, 0.5 to 8 litres, a third of them charged, some with a phaser, some
// with a cable throttle. Injectors, starter, battery and alternator are chosen
// for it as a builder would.
func sane(t testing.TB, k int) *Setup {
	t.Helper()
	return changed(t, k, func(*breathing.Input) {})
}

// changed is the same engine with something changed about it.
func changed(t testing.TB, k int, change func(*breathing.Input)) *Setup {
	t.Helper()
	rng := rand.New(rand.NewPCG(uint64(k), 0x5a6e))
	span := func(low, high float64) float64 { return low + (high-low)*rng.Float64() }
	n := 2 + rng.IntN(11)
	each := span(0.22e-3, 0.70e-3)
	each = math.Max(0.5e-3/float64(n), math.Min(8e-3/float64(n), each))
	square := span(0.85, 1.2) // stroke over bore
	bore := math.Cbrt(4 * each / (math.Pi * square))
	boost := 0.0
	if rng.IntN(3) == 0 {
		boost = span(30e3, 100e3)
	}
	ratio := span(8.8, 11.5)
	if boost > 0 {
		ratio = span(8.0, 9.5)
	}
	fuel, err := petrol.Blend(0.10 * rng.Float64())
	if err != nil {
		t.Fatal(err)
	}
	fuel.OctaneCount = 95
	limit := math.Min(span(5500, 7200), 60*18/(2*bore*square)) * rpm // piston at 18 m/s at most
	in := breathing.Input{
		Geometry:         crank.Geometry{CylinderCount: n, BoreM: bore, StrokeM: bore * square, RodM: 1.6 * bore * square, CompressionRatio: ratio},
		IntakeValveCount: 2, IntakeValveM: 0.38 * bore, IntakeLiftM: 0.105 * bore, IntakeOpensRad: span(0, 15) * deg, IntakeClosesRad: span(40, 62) * deg,
		RunnerM: span(0.25, 0.45), RunnerBoreM: 0.44 * bore, IdleRadPerS: span(700, 950) * rpm, MaxRadPerS: limit,
		Fuel: fuel, FullLambdaRatio: 0.86, CruiseLambdaRatio: 1, AmbientPa: 100e3, ChargeK: 313, CoolantK: 363, IntakeDropPa: 3e3, ExhaustDropPa: 15e3, BoostPa: boost,
	}
	if boost > 0 {
		in.FullLambdaRatio = 0.80
		in.CompressorFrac, in.CoolerFrac, in.TurbineRatio = 0.70, 0.70, 1.2 // as the vehicle takes them
	}
	if rng.IntN(2) == 0 {
		in.IntakePhaserRad = span(25, 45) * deg
	}
	change(&in)
	litres := in.Geometry.DisplacementM3()
	flow := litres / float64(n) * limit / (4 * math.Pi) * (100e3 + boost) / (287 * 313) * 1.0 / (fuel.StoichRatio * 0.78) / 0.75
	leaf := func(si, sd float64) *figure.Input { return &figure.Input{SI: si, SdSI: sd} }
	inj := &catalogue.Injector{FlowKgPerS: leaf(flow, 0.015*flow), RatedPa: leaf(300e3, 0), DeadAt14S: leaf(0.9e-3, 0.05e-3), DeadAt8S: leaf(2.4e-3, 0.2e-3)}
	coil := &catalogue.Coil{Ohm: leaf(0.6, 0.05), Henry: leaf(3e-3, 0.3e-3), ChargeA: leaf(7.5, 0.2), LeastJ: leaf(30e-3, 0)}
	// a leaf stands for what is not known of this engine's air: its tables carry
	// the 10 % that the truth is drawn with
	solved := response(t, in)
	made := calibrate.Input{Engine: in, Response: solved, Coil: coil, SparksRatio: 0.5, Injector: inj, Fitted: calibrate.Fitted{
		Electronic: true, IntakeRad: in.IntakePhaserRad, ExhaustRad: in.Cycle.ExhaustPhaserRad, BoostPa: boost, EthanolFrac: 0.05, SetPa: 300e3,
	}}
	maps, err := calibrate.Tables(t.Context(), made)
	if err != nil {
		t.Fatalf("engine %d: %v", k, err)
	}
	rules, err := calibrate.Settings(made)
	if err != nil {
		t.Fatalf("engine %d: %v", k, err)
	}
	cable := boost == 0 && rng.IntN(3) == 0
	p := Parts{
		Injector:   plant.Injector{FlowKgPerS: flow, DeadS: [2]float64{2.4e-3, 0.9e-3}, SetPa: 300e3, RatedPa: 300e3, ManifoldReferenced: boost > 0 || rng.IntN(2) == 0, FeedV: 0.3},
		Coil:       plant.Coil{Ohm: 0.6, Henry: 3e-3, LeastJ: 30e-3},
		Battery:    plant.Battery{ColdA: 350 + 120e3*litres, CapacityAs: (40 + 9e3*litres) * 3600, AcceptOhm: 36000 / ((40 + 9e3*litres) * 3600)},
		Alternator: plant.Alternator{RatedA: 70 + 12e3*litres, SetV: 14.3, SlopeOhm: 5e-3, PulleyRatio: 2.6, LoadA: 18, PumpA: 6, FanA: 15},
		Cable:      cable,
		AirConNm:   airConNm,
		Response:   solved,
	}
	ohm, err := battery.InternalOhm(p.Battery.ColdA, 263.15, 0.85)
	if err != nil {
		t.Fatal(err)
	}
	p.Starter = starterFor(t, litres, ohm)
	s := &Setup{Name: "invented", AmbientPa: in.AmbientPa}
	c := plant.Car{
		Body: driveline.Vehicle{MassKg: 700 + 250e3*litres, DragAreaM2: 0.7, RollingFrac: 0.012}, RollingM: 1.95, AxleRatio: 3.9,
		GearRatio: []float64{3.5, 2.0, 1.35, 1.0, 0.8}, Automatic: rng.IntN(3) == 0, StallRadPerS: 220,
	}
	torque := func(w float64) float64 { return 85e3 * litres * (1 + boost/100e3) }
	s.finishCar(&c, torque, limit)
	if err := s.assemble(in, p, maps, rules); err != nil {
		t.Fatalf("engine %d: %v", k, err)
	}
	return s
}

// response is the engine's tables as the vehicle's solve would have them: the
// crank-angle cycle where it settles, else the intake stroke, which is said.
func response(t testing.TB, in breathing.Input) *breathing.Response {
	t.Helper()
	r, err := enginemap.Solve(t.Context(), in, nil, nil)
	if err == nil {
		return r
	}
	if !errors.Is(err, enginemap.ErrUnsettled) {
		t.Fatal(err)
	}
	t.Logf("breathes by the intake stroke: %v", err)
	if r, err = breathing.Solve(in); err != nil {
		t.Fatal(err)
	}
	return r
}

// starterFor is a starter that turns a cold engine: 150 rpm at −10 °C with its
// battery, or as near to it as any comes.
func starterFor(t testing.TB, litresM3, batteryOhm float64) plant.Starter {
	oil, err := starter.NewOil(70e-6, 11.5e-6, 860)
	if err != nil {
		t.Fatal(err)
	}
	mu, err := oil.ViscosityPaS(263.15)
	if err != nil {
		t.Fatal(err)
	}
	best, most := plant.Starter{}, 0.0
	for stall := 250.0; stall < 4000; stall *= 1.1 {
		s := starterOf(11.5, stall, 0.09*stall, 420, 13)
		s.LeadOhm = 0.8 / stall // less than a volt at the stall (common practice)
		w, _, _ := starter.Crank(s.Motor, 12.3, batteryOhm+s.LeadOhm, s.GearRatio, func(w float64) float64 { return starter.LoadNm(litresM3, mu, w) })
		if w > most {
			best, most = s, w
		}
		if w > 150*rpm {
			break
		}
	}
	if most < 80*rpm {
		t.Fatalf("no starter turns %.2f litres", litresM3*1e3)
	}
	return best
}
