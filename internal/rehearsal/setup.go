package rehearsal

import (
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/calibrate"
	"fettle/internal/control"
	"fettle/internal/design"
	"fettle/internal/driveline"
	"fettle/internal/driver"
	"fettle/internal/loom"
	"fettle/internal/plant"
	"fettle/internal/starter"
	"fettle/internal/table"
	"fettle/internal/vehicle"
)

// What no build file states, for every engine.
const (
	inertiaKgM2    = 0.035 // flywheel or converter, and
	inertiaPerM3   = 70.0  // kg·m² for each m³ of displacement (from memory: 0.15 to 0.2 for 2 litres)
	manifoldRatio  = 1.5   // manifold over displacement (common practice, 1 to 2)
	exhaustRatio   = 0.8   // exhaust to the lambda sensor over displacement (from memory)
	idleValveRatio = 3.0   // idle valve, wide open, over what warm idle takes
	loadRunningA   = 22.0  // controller, coils, injectors, sensors and what the driver leaves on
	pumpA, fanA    = 6.0, 18.0
	brakeMPerS2    = 8.0
	gearFrac       = 0.94 // gearbox and axle (common practice, 0.90 to 0.96)
	wheelsFrac     = 0.04 // turning mass behind the clutch over the car's
	stallRadPerS   = 220  // of a converter that none states: 2100 rpm
	clutchRatio    = 1.6  // a clutch over the engine's greatest torque
	brushV         = 1.0  // of a starter, both brushes (common practice)
	// airConNm is a compressor's torque at the crankshaft: 150 cm³ a turn against
	// 8 bar in the mean, over a pulley of 1.3 and 0.8 of efficiency (from memory).
	airConNm = 31.0
)

// Of makes a solved vehicle with its tables ready to be started.
func Of(v *vehicle.Result, maps []calibrate.Map, rules []calibrate.Setting, calibration string) (*Setup, error) {
	if err := Prevented(v); err != nil {
		return nil, err
	}
	d := v.Vehicle.Design
	f := d.File
	in := v.Vehicle.Engine()
	s := &Setup{Name: f.Name, Calibration: calibration, AmbientPa: in.AmbientPa}
	if f.Boost != nil && in.BoostPa == 0 {
		in.BoostPa = f.Boost.GaugePa.SI
	}
	if in.IntakePhaserRad == 0 {
		for _, c := range f.Engine.Cams {
			if (c.Moves == "intake" || c.Moves == "both") && c.TravelRad != nil {
				in.IntakePhaserRad = c.TravelRad.SI
			}
		}
	}
	p := Parts{Cable: f.Engine.Throttle == "cable", Response: v.Vehicle.Response()}
	if err := p.electrics(v); err != nil {
		return nil, err
	}
	item := d.One("injector")
	if item.Part == nil || item.Part.Injector == nil || d.One("coil").Part == nil {
		return nil, fmt.Errorf("a vehicle without injectors or coils can't be started")
	}
	j, k := item.Part.Injector, d.One("coil").Part.Coil
	p.Injector = plant.Injector{
		FlowKgPerS: j.FlowKgPerS.SI * math.Sqrt(f.System.SetPa.SI/j.RatedPa.SI), DeadS: [2]float64{j.DeadAt8S.SI, j.DeadAt14S.SI},
		SetPa: f.System.SetPa.SI, RatedPa: j.RatedPa.SI, ManifoldReferenced: f.System.Reference == "manifold",
	}
	if full := v.State(design.Full); full != nil && full.Ended.OK {
		if post, ok := full.NodeV(loom.PostNode(d.One("battery"), 0)); ok {
			p.Injector.FeedV = math.Max(0, post-full.Point.InjectorV)
		}
	}
	p.Coil = plant.Coil{Ohm: k.Ohm.SI, Henry: k.Henry.SI, LeastJ: k.LeastJ.SI}
	if err := s.body(d, v); err != nil {
		return nil, err
	}
	if hasCompressor(d) {
		p.AirConNm = airConNm
	}
	return s, s.assemble(in, p, maps, rules)
}

// Parts are the parts of a vehicle beside the engine.
type Parts struct {
	Injector   plant.Injector
	Coil       plant.Coil
	Starter    plant.Starter
	Battery    plant.Battery
	Alternator plant.Alternator
	Cable      bool
	AirConNm   float64 // of a compressor, at the crankshaft; 0 without
	// Response is the engine's tables, as the starting tables were made from; may be nil.
	Response *breathing.Response
}

// electrics takes battery, starter and alternator, and from the solved network
// what the starter's leads lose.
func (p *Parts) electrics(v *vehicle.Result) error {
	d := v.Vehicle.Design
	bat, st, alt := d.One("battery").Part, d.One("starter").Part, d.One("alternator").Part
	if bat == nil || bat.Battery == nil || st == nil || st.Starter == nil || alt == nil || alt.Alternator == nil {
		return fmt.Errorf("a vehicle without battery, starter or alternator can't be started")
	}
	b, m, a := bat.Battery, st.Starter, alt.Alternator
	p.Battery = plant.Battery{ColdA: b.ColdA.SI, CapacityAs: b.Capacity.SI, AcceptOhm: 36000 / b.Capacity.SI}
	p.Alternator = plant.Alternator{RatedA: a.RatedA.SI, SetV: a.SetV.SI, SlopeOhm: a.SlopeOhm.SI, PulleyRatio: a.PulleyRatio.SI, LoadA: loadRunningA, PumpA: pumpA, FanA: fanA}
	p.Starter = starterOf(m.RatedV.SI, m.StallA.SI, m.FreeA.SI, m.FreeSpeed.SI, m.GearRatio.SI)
	p.Starter.LeadOhm = 4e-3
	crank := v.State(design.Cranking)
	if crank == nil || !crank.Ended.OK || crank.Point.StarterA < 20 {
		return nil
	}
	// what runs on the road; the network's idle is a hot one, with the fans that the plant counts apart
	if road := v.State(design.Cruise); road != nil && road.Ended.OK && road.Point.PumpA > 0 {
		p.Alternator.PumpA = road.Point.PumpA
		p.Alternator.LoadA = math.Max(8, road.Point.ChargerA+road.Point.BatteryA-road.Point.PumpA)
	}
	if post, ok := crank.NodeV(loom.PostNode(d.One("battery"), 0)); ok {
		p.Starter.LeadOhm = math.Max(1e-4, (post-crank.Point.StarterV)/crank.Point.StarterA)
	}
	return nil
}

// starterOf makes a motor of its sheet, as the vehicle's network does.
func starterOf(ratedV, stallA, freeA, freeRadPerS, gear float64) plant.Starter {
	m := starter.Motor{Ohm: (ratedV - brushV) / stallA, BrushV: brushV}
	m.FluxVS = (ratedV - brushV - freeA*m.Ohm) / freeRadPerS
	m.LossNm = m.FluxVS * freeA
	return plant.Starter{Motor: m, GearRatio: gear}
}

// body takes mass, tyres and gears.
func (s *Setup) body(d *design.Design, v *vehicle.Result) error {
	f := d.File
	rolling, err := driveline.RollingM(f.Vehicle.Tyre.DiameterM.SI)
	if err != nil {
		return err
	}
	c := plant.Car{
		Body:     driveline.Vehicle{MassKg: f.Vehicle.MassKg.SI, DragAreaM2: f.Vehicle.DragAreaM2.SI, RollingFrac: f.Vehicle.RollingFrac.SI},
		RollingM: rolling, AxleRatio: f.Vehicle.AxleRatio.SI,
	}
	c.StallRadPerS = stallRadPerS
	if g := f.Gearbox; g != nil {
		c.Automatic = g.Kind == "automatic"
		for _, r := range g.Ratios {
			c.GearRatio = append(c.GearRatio, r.SI)
		}
		if g.StallRadPerS != nil {
			c.StallRadPerS = g.StallRadPerS.SI
		}
	}
	if len(c.GearRatio) == 0 {
		c.GearRatio = []float64{3.6, 2.1, 1.4, 1.0, 0.82}
		s.Notes = append(s.Notes, "the build states no gears: five of 3.6, 2.1, 1.4, 1.0 and 0.82 are taken")
	}
	r := v.Vehicle.Response()
	at := func(speed float64) float64 {
		p, err := r.WideOpen(math.Max(r.TorqueNm.X.At[0], math.Min(speed, r.Input().MaxRadPerS)), breathing.Nominal())
		if err != nil {
			return 0
		}
		return p.TorqueNm
	}
	s.finishCar(&c, at, r.Input().MaxRadPerS)
	return nil
}

// finishCar fills what follows from the engine's torque.
func (s *Setup) finishCar(c *plant.Car, torqueNm func(speed float64) float64, maxRadPerS float64) {
	most, power := 0.0, 0.0
	for i := 1; i <= 20; i++ {
		n := maxRadPerS * float64(i) / 20
		t := torqueNm(n)
		most, power = math.Max(most, t), math.Max(power, t*n)
	}
	c.StallNm = math.Max(1, torqueNm(c.StallRadPerS))
	c.ClutchNm = clutchRatio * most
	c.GearFrac, c.WheelsKg, c.BrakeN = gearFrac, wheelsFrac*c.Body.MassKg, brakeMPerS2*c.Body.MassKg
	s.Car = *c
	per := c.AxleRatio * 2 * math.Pi / c.RollingM
	s.Driver = driver.Car{
		MassKg: c.Body.MassKg, RollingFrac: c.Body.RollingFrac, DragAreaM2: c.Body.DragAreaM2, PullN: most * c.GearRatio[0] * per * gearFrac, PowerW: power * gearFrac,
		BrakeN: c.BrakeN, Automatic: c.Automatic, LimitRadPerS: maxRadPerS,
	}
	for _, g := range c.GearRatio {
		s.Driver.GearRadPerM = append(s.Driver.GearRadPerM, g*per)
	}
}

// assemble makes the engine and takes the tables.
func (s *Setup) assemble(in breathing.Input, p Parts, maps []calibrate.Map, rules []calibrate.Setting) error {
	g := in.Geometry
	litres := g.DisplacementM3()
	oil, err := starter.NewOil(70e-6, 11.5e-6, 860)
	if err != nil {
		return err
	}
	wide, err := openAreaM2(in)
	if err != nil {
		return err
	}
	e := plant.Engine{
		Truth: plant.Nominal(), Response: p.Response, Cable: p.Cable, InertiaKgM2: inertiaKgM2 + inertiaPerM3*litres, ManifoldM3: manifoldRatio * litres,
		ThrottleM2: wide, ExhaustM3: exhaustRatio * litres, Injector: p.Injector, Coil: p.Coil, Starter: p.Starter, Battery: p.Battery, Alternator: p.Alternator, Oil: oil, AirConNm: p.AirConNm,
	}
	if err := s.take(maps, in, &e); err != nil {
		return err
	}
	s.Engine, err = plant.Make(e, in)
	if err != nil {
		return err
	}
	if s.Engine.PhaserRad > 0 && len(s.Tables.IntakeCam.Z) == 0 {
		s.Tables.IntakeCam = s.camTable()
	}
	if s.Engine.ExhaustPhaserRad > 0 && len(s.Tables.ExhaustCam.Z) == 0 {
		s.Engine.ExhaustPhaserRad = 0
		s.Notes = append(s.Notes, "no table sends the exhaust cam anywhere: it stays parked")
	}
	full := in.WideOpenPa(0.7 * in.MaxRadPerS)
	s.Driver.IdleRadPerS = in.IdleRadPerS
	s.Settings = control.Settings{
		Cylinders: g.CylinderCount, SweptM3: g.SweptM3(), StoichRatio: in.Fuel.StoichRatio, FlowKgPerS: p.Injector.FlowKgPerS, SetPa: p.Injector.SetPa,
		AcrossIsSet: p.Injector.ManifoldReferenced, FeedV: p.Injector.FeedV, Cable: p.Cable, BoostPa: in.BoostPa, FullPa: full,
		LeanLoadFrac: 0.6, Automatic: s.Car.Automatic, GearRadPerM: s.Driver.GearRadPerM,
		PhaserMostRad: s.Engine.PhaserRad, ExhaustMostRad: s.Engine.ExhaustPhaserRad, ExhaustDelayRad: 4 * math.Pi, LambdaLagS: 0.06,
		ExhaustKg: e.ExhaustM3 * in.AmbientPa / (287.05 * 750),
	}
	return s.rules(rules)
}

// openAreaM2 is the throttle's area: what loses the stated drop at the limit.
func openAreaM2(in breathing.Input) (float64, error) {
	in.SpeedRadPerS = []float64{in.IdleRadPerS, in.MaxRadPerS}
	open := in.WideOpenPa(in.MaxRadPerS)
	in.ManifoldPa = []float64{0.5 * open, open}
	r, err := breathing.Solve(in)
	if err != nil {
		return 0, fmt.Errorf("engine: %w", err)
	}
	p, err := r.At(in.MaxRadPerS, open, breathing.Nominal())
	if err != nil {
		return 0, err
	}
	up := in.AmbientPa + in.BoostPa
	pr := math.Min(0.995, open/up)
	psi := math.Sqrt(7 * (math.Pow(pr, 2/1.4) - math.Pow(pr, 2.4/1.4)))
	return p.AirKgPerS * math.Sqrt(287.05*in.ChargeK) / (up * psi), nil
}

// take picks the controller's tables out of those that were made.
func (s *Setup) take(maps []calibrate.Map, in breathing.Input, e *plant.Engine) error {
	by := map[string]table.Grid{}
	for _, m := range maps {
		by[m.Name] = m.Grid
	}
	t := &s.Tables
	for name, into := range map[string]*table.Grid{
		calibrate.VE: &t.VolEff, calibrate.Spark: &t.Spark, calibrate.Lambda: &t.Lambda, calibrate.Dwell: &t.Dwell, calibrate.DeadTime: &t.DeadTime,
		calibrate.CrankFuel: &t.Crank, calibrate.PrimePulse: &t.Prime, calibrate.AfterStart: &t.AfterStart, calibrate.AfterStartS: &t.AfterStartTime,
		calibrate.WarmUp: &t.WarmUp, calibrate.FilmShare: &t.Film, calibrate.FilmTime: &t.FilmTime, calibrate.IdleSpeed: &t.IdleSpeed,
		calibrate.IdleSpark: &t.IdleSpark, calibrate.ThrottleMap: &t.Throttle, calibrate.BoostTarget: &t.Boost, calibrate.LoadCap: &t.LoadCap,
		calibrate.SafeFuel: &t.SafeFuel, calibrate.SparkAir: &t.SparkAir, calibrate.SparkHot: &t.SparkHot, calibrate.Resume: &t.Resume,
		calibrate.SpeedLimit: &t.SpeedLimit, calibrate.IntakeCam: &t.IntakeCam, calibrate.ExhaustCam: &t.ExhaustCam,
		calibrate.InjectorFlow: &t.InjectorFlow, calibrate.DeadPressure: &t.DeadPressure, calibrate.ShortPulse: &t.ShortPulse,
		calibrate.IdleAir: &t.IdleAir,
	} {
		*into = by[name]
	}
	air, ok := by[calibrate.IdleAir]
	if !ok {
		return fmt.Errorf("the table %s is missing: without idle air no engine is started", calibrate.IdleAir)
	}
	return s.opening(air, in, e)
}

// openings is at how many flows the opening for idle air is told.
const openings = 40

// opening is the throttle body's curve, plate or valve: how far it opens for idle's
// air, which flows choked. Its flows stand closer where it is nearly shut, where
// the plate's area bends.
func (s *Setup) opening(air table.Grid, in breathing.Input, e *plant.Engine) error {
	area := func(grams float64) float64 {
		return grams * 1e-3 * math.Sqrt(287.05*in.ChargeK) / (in.AmbientPa * 0.68473)
	}
	warm, _ := air.Clamped(80, 0)
	cold, _ := air.Clamped(-20, 0)
	if s.Settings.Cable = e.Cable; e.Cable {
		e.IdleM2 = math.Max(idleValveRatio*area(warm), 1.3*area(cold))
	}
	x := table.Axis{Name: "idle air", Unit: "g/s"}
	for i := range openings {
		u := float64(i) / (openings - 1)
		x.At = append(x.At, 4*cold*u*u)
	}
	t := table.New("opening for idle air", "1", x, table.Axis{})
	for k, g := range x.At {
		if e.Cable {
			t.Z[k] = math.Min(1, area(g)/e.IdleM2)
			continue
		}
		y, err := calibrate.PlateFrac(math.Max(0, math.Min(1, area(g)/e.ThrottleM2)))
		if err != nil {
			return err
		}
		t.Z[k] = y
	}
	s.Tables.Opening = t
	return nil
}

// camTable is where the intake phaser traps most air with open throttle, by speed.
func (s *Setup) camTable() table.Grid {
	x := s.Tables.VolEff.X
	speeds := make([]float64, len(x.At))
	for i, n := range x.At {
		speeds[i] = n * rpm
	}
	g := table.New("intake cam", "°", x, table.Axis{})
	for i, a := range s.Engine.PhaserTargetsRad(speeds) {
		g.Z[i] = a * 180 / math.Pi
	}
	return g
}
