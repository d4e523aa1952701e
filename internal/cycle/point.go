package cycle

import (
	"fmt"
	"math"

	"fettle/internal/figure"
	"fettle/internal/gas"
)

// How a cycle is brought to repeat itself.
const (
	mostCycles = 60
	calmFrom   = 9 // cycles
	calmKeep   = 0.5
	calmerFrom = 20
	calmerKeep = 0.8
	settled    = 5e-4 // relative change of charge, burned gas and pressures from cycle to cycle
	// portWeight: the pressure behind the exhaust valve flutters where wide short
	// pipes meet, and moves the charge by a fifth of its own change and less.
	portWeight = 0.2
	// nearly settled, the spark is sought to the end, at the latest in lastSeek.
	nearly   = 8e-3
	lastSeek = 8
	// From flutterFrom on, cycles that go on changing by less than flutter are
	// taken as they are: those of an engine differ from each other by more.
	flutterFrom  = 24
	flutter      = 2e-3
	knockTop     = 2.0 // integral beyond which a spark isn't followed
	injectFrom   = 70 * math.Pi / 180
	injectTo     = 130 * math.Pi / 180
	bestHalf     = 8 * math.Pi / 180 // half burned for most work, a first guess (Heywood, section 9.1; from memory)
	firstBurn    = 55 * math.Pi / 180
	firstExhaust = 1000.0
)

// Point computes one operating point: cycles follow each other until they
// repeat.
//
//	dm_k/dθ, dU/dθ of cylinder, runners and plenum, θ over 4π, until y(θ + 4π) = y(θ)
//
// in steps of 1.5° by the midpoint rule, with gas properties from tables. It has
// repeated itself when charge, burned gas, temperature and pressures change by
// less than 5e−4 together, or, after 24 cycles, flutter by less than 2e−3.
//
// Valid: as Engine.Check and the ranges of Operating; outside an error is returned.
// Accuracy: 0.5 % of work and charge against a fourth-order scheme of finer step; models and correlations are each as good as they say.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, sections 14.2 to 14.4.
// Errors: a value out of range; a charge that does not burn. When the cycles do not settle, Ended is not OK and the result is empty, save with Operating.UnconvergedAllowed.
func (m *Model) Point(op Operating) (Result, figure.Ended, error) {
	return m.point(op, mostCycles)
}

// point is Point within a number of cycles.
func (m *Model) point(op Operating, most int) (Result, figure.Ended, error) {
	if err := op.check(&m.engine); err != nil {
		return Result{}, figure.Ended{}, err
	}
	var p props
	m.gas.fill(&p, op.LambdaRatio)
	r := m.start(&op, &p)
	res, ended, err := r.settle(most)
	if err != nil {
		return Result{}, ended, err
	}
	if !ended.OK && !op.UnconvergedAllowed {
		return Result{}, ended, nil
	}
	return res, ended, nil
}

// start sets a run up with a guess of the charge.
func (m *Model) start(op *Operating, p *props) *engineRun {
	e, n := &m.engine, 2*m.steps
	r := &engineRun{setting: m.setting(op, p), op: op, bank: float64(e.Geometry.CylinderCount)}
	buffer := make([]float64, 4*n)
	r.intake, r.exhaust, r.own, r.ownOut = buffer[:n], buffer[n:2*n], buffer[2*n:3*n], buffer[3*n:]
	for j := 1; j < e.Geometry.CylinderCount; j++ {
		r.shifts = append(r.shifts, n*j/e.Geometry.CylinderCount)
	}
	m.areas(op, r.intake, r.exhaust)
	_, closes := e.Intake.times(e.Intake.CentrelineRad - op.IntakeAdvanceRad)
	exOpens, _ := e.Exhaust.times(op.ExhaustRetardRad - e.Exhaust.CentrelineRad)
	r.shuts = int(math.Ceil(closes / r.d))
	r.opens = int(math.Floor((exOpens + 4*math.Pi) / r.d))
	if e.DirectInjection {
		r.inject = [2]int{int(injectFrom / r.d), int(injectTo / r.d)}
	}

	pa := op.ManifoldPa
	if op.WideOpen {
		pa = 0.97 * op.UpstreamPa
	}
	r.plenum = pa
	r.in = m.inflow(op, p, pa)
	r.perKg = gas.AirHeatRatio * m.gas.airR * op.ChargeK / e.PlenumM3
	r.feed = newPipe(e.IntakeRunner, pa, r.in.kelvin, r.in.r, gas.AirHeatRatio)
	burned := mass{burned: 1}
	r.out = burned
	r.outH = p.enthalpy(&burned, firstExhaust)
	r.outRT = p.thermal(&burned, firstExhaust).mr * firstExhaust
	r.drain = newPipe(e.ExhaustRunner, op.AmbientPa, firstExhaust, r.outRT/firstExhaust, 1.31)

	r.lean = leanOf(r.dt * math.Sqrt(math.Max(r.feed.perKg*r.feed.perPa, r.drain.perKg*r.drain.perPa)))
	r.feed.paced(r.dt, r.lean)
	r.drain.paced(r.dt, r.lean)

	v := m.ends[r.shuts%m.steps]
	kelvin := r.in.kelvin + 40
	kg := pa * v / (r.in.r * kelvin) * 0.95
	r.c.mass = mass{air: kg * 0.88 * p.airPerFuel / (1 + p.airPerFuel), fuel: kg * 0.88 / (1 + p.airPerFuel), burned: kg * 0.12}
	r.c.kelvin = kelvin
	r.c.set(p, v)
	r.fuelKg = r.c.air / p.airPerFuel
	flow := r.c.air / (4 * math.Pi / op.SpeedRadPerS) * float64(e.Geometry.CylinderCount)
	r.beside = r.feed
	for i := range r.own {
		r.own[i], r.ownOut[i] = flow/r.bank, flow/r.bank
	}
	r.along = r.drain
	r.collector = collector{pa: op.AmbientPa, m3: e.CollectorM3, outside: op.AmbientPa}
	r.collector.passes(flow, e.dropPa(flow), r.outRT)
	r.setThrottle(flow, pa)
	r.f.spark = 2*math.Pi + bestHalf - firstBurn*(0.5175+delayLevel/burnLevel)
	if op.Spark == SparkGiven {
		r.f.spark = 2*math.Pi - op.SparkRad
	}
	return r
}

// setThrottle gives the throttle its mean flow, unless it is open.
func (r *engineRun) setThrottle(flow, pa float64) {
	r.throttle, r.through = r.m.engine.ThrottleM2, flow
	pr := pa / r.op.UpstreamPa
	if r.op.WideOpen || pr <= freshPsi.critical {
		return
	}
	const step = 1e-3
	here, there := freshPsi.of(pr)*(1-pr), freshPsi.of(pr-step)*(1-pr+step)
	r.slack = flow * (math.Sqrt(there/here) - 1) / (step * r.op.UpstreamPa)
}

// settle runs cycles until they repeat, at most so many.
func (r *engineRun) settle(most int) (res Result, ended figure.Ended, err error) {
	sought := sparkFound{best: math.NaN(), knock: math.NaN()}
	r.best = math.NaN()
	found := 0 // the cycle whose spark was sought to the end
	if r.op.Spark == SparkGiven {
		found = 2
	}
	for k := 1; k <= most; k++ {
		r.still = k == 1 && !r.op.WideOpen
		switch {
		case r.op.Spark == SparkGiven || found > 0:
		case k == 2:
			r.f.spark += 2*math.Pi + bestHalf - r.f.half
		case k == 3 || k > 3 && ended.Residual < nearly || k == lastSeek:
			rough := k == 3
			sought = r.seek(rough)
			r.f.spark = 2*math.Pi - sought.use
			if !rough {
				found = k
			}
		}
		before := r.c
		plenum, port := r.sum.plenum, r.sum.port
		r.sum = totals{startKg: r.c.kg(), startJ: r.c.energy, plenumAt: r.plenum}
		r.closedPart()
		if r.f.fault != nil && k >= 3 {
			return res, ended, r.f.fault
		}
		r.openPart()
		if !(r.c.kg() > 0) || math.IsInf(r.c.energy, 0) || !(r.c.pa > 0) {
			return res, figure.Ended{Steps: k, Residual: math.Inf(1), Why: "the state of the cylinder ran away"}, nil
		}
		change := math.Abs(r.c.kg()-before.kg())/before.kg() + math.Abs(r.c.burned-before.burned)/before.kg() +
			math.Abs(r.c.kelvin-before.kelvin)/before.kelvin + math.Abs(r.sum.plenum-plenum)/r.sum.plenum + portWeight*math.Abs(r.sum.port-port)/r.sum.port
		full := change / (1 - kept(k-1)) // of what would change at full pace
		ended = figure.Ended{OK: found > 0 && k > found && (full < settled || k >= flutterFrom && change < flutter), Steps: k, Residual: full}
		if ended.OK {
			break
		}
		r.between(k)
	}
	if !ended.OK {
		ended.Why = fmt.Sprintf("after %d cycles charge and pressures still change by %.2g of themselves from one to the next, more than %.2g", ended.Steps, ended.Residual, settled)
	}
	return r.result(sought), ended, nil
}

// kept is how much of what the other cylinders did stays for the next cycle:
// those that answer each other to and fro are brought to meet.
func kept(cycles int) float64 {
	switch {
	case cycles < calmFrom:
		return 0
	case cycles < calmerFrom:
		return calmKeep
	}
	return calmerKeep
}

// between readies the next cycle: the other cylinders do what this one did,
// the throttle and the exhaust's pressure follow the flow.
func (r *engineRun) between(cycles int) {
	e, n := &r.m.engine, len(r.own)
	r.keep = kept(cycles)
	flow := 0.0
	for _, f := range r.own {
		flow += f * r.bank / float64(n)
	}
	if !r.op.WideOpen { // the pressure's course without its drift, about the mean asked for
		drift := r.plenum - r.sum.plenumAt
		flow *= r.op.ManifoldPa * float64(n) / r.sum.plenum // it goes with the pressure
		r.plenum = r.op.ManifoldPa - (r.sum.plenum/float64(n) - drift/2 - r.sum.plenumAt)
		r.feed.far, r.beside.far = r.plenum, r.plenum
	}
	r.setThrottle(flow, r.manifoldPa())
	if e.DirectInjection {
		r.fuelKg = math.Max(0, r.sum.in.air/r.p.airPerFuel)
	}
	r.backPressure()
}

func (r *engineRun) manifoldPa() float64 {
	if !r.op.WideOpen {
		return r.op.ManifoldPa
	}
	return r.sum.plenum / float64(len(r.own))
}

// TurbineRatio returns the pressure ratio over a turbine that drives its
// compressor, without surplus.
//
//	c_pe T_e (1 + F/A) (1 − Π_t^(−0.25)) η = c_pa T_a (Π_c^0.286 − 1)
//
// where c_pe = 1190 and c_pa = 1005 J/(kg·K), and exponents are (γ−1)/γ of burned gas at 1.333 and of air.
//
// Valid: Π_c 1 … 4, efficiency 0.1 … 0.75; a turbine that cannot is given the ratio of 6 at which it chokes.
// Accuracy: that of the efficiency, ± 10 %; pulses are left out.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 6.8 (from memory).
// Errors: none.
func TurbineRatio(compressorRatio, overallFrac, exhaustK, intakeK, fuelAirRatio float64) float64 {
	need := 1005 * intakeK * (math.Pow(compressorRatio, 0.286) - 1) / (1190 * exhaustK * (1 + fuelAirRatio) * overallFrac)
	return math.Pow(math.Max(1-need, 0.64), -4)
}

func (r *engineRun) seconds() float64 { return 4 * math.Pi / r.speed }

// exhaustK is the mean temperature, by energy, of what passed the exhaust valve.
func (r *engineRun) exhaustK() float64 {
	return r.p.kelvinOfEnthalpy(&r.sum.out, r.sum.outH, firstExhaust)
}

// result makes the sums of the last cycle into a result.
func (r *engineRun) result(sought sparkFound) Result {
	e, g, op := &r.m.engine, r.m.engine.Geometry, r.op
	s, n := &r.sum, float64(g.CylinderCount)
	swept := g.SweptM3()
	manifold := r.manifoldPa()
	fuel := s.in.fuel + s.fuelKg
	friction := frictionPa(g, op.SpeedRadPerS, manifold/op.AmbientPa, op.OilViscosityRatio, e.Intake.Count+e.Exhaust.Count, e.Intake.LiftM)
	hot := r.exhaustK()
	pressed := r.pressedFrom(s.closing, 2*math.Pi-r.f.spark)
	_, knock := r.try(&pressed, 2*math.Pi-r.f.spark, fastFrac, audibleFrac)
	lost := r.c.lostKg
	port := portShare * (hot - e.CoolantK - portWallK)
	th := r.p.thermal(&s.out, hot)
	bmep := s.work/swept - friction
	res := Result{
		ManifoldPa: manifold, AirKgPerS: s.in.air * n / r.seconds(), FuelKgPerS: fuel * n / r.seconds(),
		VolEffFrac: s.in.air * r.m.gas.airR * op.ChargeK / (manifold * swept), ResidualFrac: s.closing.burned / s.closing.kg(),
		TorqueNm: bmep * swept * n / (4 * math.Pi), BrakeMeanPa: bmep, GrossMeanPa: s.gross / swept, PumpingPa: (s.gross - s.work) / swept, FrictionPa: friction,
		ExhaustK: hot - port, ExhaustPa: s.collected / float64(len(r.own)), WallW: -s.heat * n / r.seconds(), PortW: port * (th.slope + th.mr) * n / r.seconds(),
		SparkRad: 2*math.Pi - r.f.spark, BestRad: sought.best, KnockRad: sought.knock, KnockLimited: sought.limited, KnockCount: knock, MeanKnockCount: r.f.knock,
		Burn50Rad: r.f.half - 2*math.Pi, BurnRad: r.f.most - r.f.spark, PeakPa: r.f.peak,
		TrappedKg: s.closing.kg(), TrappedAirKg: s.closing.air, ClosingK: s.closing.kelvin, BackflowFrac: s.backKg / s.closing.kg(), BlowByFrac: lost / s.closing.kg(),
		Mass:   MassBalance{InKg: s.in.kg(), OutKg: s.out.kg(), FuelKg: s.fuelKg, LeakKg: lost, StoredKg: r.c.kg() - s.startKg},
		Energy: EnergyBalance{InJ: s.inH + s.fuelH, OutJ: s.outH, WorkJ: s.work, WallJ: -s.heat, LeakJ: r.c.lostJ, StoredJ: r.c.energy - s.startJ, FuelJ: fuel * e.Fuel.HeatingJPerKg},
	}
	res.PowerW = res.TorqueNm * op.SpeedRadPerS
	res.FuelKgPerJ = math.NaN()
	if res.PowerW > 0 {
		res.FuelKgPerJ = res.FuelKgPerS / res.PowerW
	}
	return res
}
