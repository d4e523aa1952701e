package plant

import "math"

const (
	restFrac = 0.06 // where springs hold the plate of a motor throttle (common practice, 5 to 10 %)
	leakFrac = 0.004
)

// psi is the flow function of a throat for γ = 1.4 against s = √(1 − p/p₀),
// in which it has no steep end; psiCount points from s = 0 to 1.
const psiCount = 256

var psiAt = func() (z [psiCount + 1]float64) {
	for i := range z {
		s := float64(i) / psiCount
		pr := math.Max(1-s*s, 0.5282817877)
		z[i] = math.Sqrt(7 * (math.Pow(pr, 2/1.4) - math.Pow(pr, 2.4/1.4)))
	}
	return z
}()

func psi(s float64) (value, slope float64) {
	x := math.Max(0, math.Min(psiCount-1e-9, s*psiCount))
	i := int(x)
	slope = (psiAt[i+1] - psiAt[i]) * psiCount
	return psiAt[i] + slope*(x-float64(i))/psiCount, slope
}

// plateFrac is the open share of a butterfly's area at an opening: the plate
// turns 85° from its seat.
func plateFrac(opening float64) float64 {
	const seat = 5 * math.Pi / 180
	a := seat + math.Max(0, math.Min(1, opening))*(math.Pi/2-seat)
	return (1 - math.Cos(a)/math.Cos(seat))
}

// throttleM2 returns the effective area through which the engine draws: plate,
// leak and idle valve.
//
//	A = A₀ [1 − cos α/cos 5° + 0.004] + A_i · u,   α = 5° + x · 85°
//
// where x is the plate's opening and u the idle valve's.
//
// Valid: x and u 0 … 1, held at their ends outside.
// Accuracy: ± 10 %; the shaft's shadow near full opening is left out.
// Source: Harington and Bolt, SAE 700082, 1970, geometry of a round plate (from memory).
// Errors: none.
func (e *Engine) throttleM2(openFrac, idleFrac float64) float64 {
	return e.ThrottleM2*(plateFrac(openFrac)+leakFrac) + e.IdleM2*math.Max(0, math.Min(1, idleFrac))
}

// volEff is this engine's volumetric efficiency now.
func (p *Plant) volEff() float64 {
	w := p.maps.at(p.speed, p.manifoldPa)
	var ve float64
	if len(p.maps.ve) == 1 {
		ve = w.of(p.maps.ve[0])
	} else {
		x := math.Max(0, math.Min(phases-1-1e-9, p.phaser/p.e.PhaserRad*(phases-1)))
		i := int(x)
		ve = w.of(p.maps.ve[i])
		ve += (x - float64(i)) * (w.of(p.maps.ve[i+1]) - ve)
	}
	return ve * p.truth.air(w.uAll, w.vA) * p.maps.exhaustAir(w, p.exhaustPhaser)
}

// chargeK is the temperature in the manifold: outside air, warmed by the engine
// and, behind a charger, by what the cooler leaves.
func (p *Plant) chargeK() float64 {
	warm := 0.12 * math.Max(0, p.coolantK-p.day.AmbientK)
	k := p.day.AmbientK + 5 + warm
	if p.e.BoostPa > 0 {
		rise := p.day.AmbientK * (math.Pow(math.Max(1, p.upPa/p.day.AmbientPa), 0.2857) - 1) / 0.7
		k += 0.3 * rise
	}
	return k
}

// filling moves the pressure in the manifold to the end of the step. With
// s = √(1 − p/p_up) for the unknown both flows are smooth, so that Newton's steps
// settle even where throttle and engine all but balance.
func (p *Plant) filling(dt float64) {
	t := p.chargeK()
	idle := p.idleFrac
	area := p.truth.AreaRatio * p.e.throttleM2(p.plate, idle)
	per := dt * airR * t / p.e.ManifoldM3 // Pa per kg/s
	draws := p.volEff() * p.e.Geometry.DisplacementM3() * math.Max(0, p.speed) / (4 * math.Pi * airR * t)
	through := area * p.upPa / math.Sqrt(airR*p.day.AmbientK)
	s := math.Sqrt(math.Max(0, 1-p.manifoldPa/p.upPa))
	for range 4 {
		value, slope := psi(s)
		h := p.upPa*(1-s*s)*(1+per*draws) - p.manifoldPa - per*through*value
		d := -2*p.upPa*s*(1+per*draws) - per*through*slope
		if d == 0 {
			break
		}
		next := math.Max(0, math.Min(1, s-h/d))
		if math.Abs(next-s) < 1e-7 {
			s = next
			break
		}
		s = next
	}
	p.manifoldPa = p.upPa * (1 - s*s)
	value, _ := psi(s)
	p.throughKgPerS = through * value
}

// actuators moves plate, phaser, charger and fuel pressure.
func (p *Plant) actuators(in *Inputs, dt float64) {
	p.idleFrac = in.IdleFrac
	switch {
	case p.e.Cable:
		p.plate += (math.Max(0, math.Min(1, in.PedalFrac)) - p.plate) * math.Min(1, dt/0.02)
	default:
		force := 900*math.Max(-1, math.Min(1, in.ThrottleFrac))*p.busV/13 - 100*(p.plate-restFrac)
		p.plateRate = (p.plateRate + force*dt) / (1 + 40*dt)
		p.plate += p.plateRate * dt
		if p.plate < 0 || p.plate > 1 {
			p.plate, p.plateRate = math.Max(0, math.Min(1, p.plate)), 0
		}
	}
	p.turn(&p.phaser, in.PhaserFrac, p.e.PhaserRad, dt)
	p.turn(&p.exhaustPhaser, in.ExhaustPhaserFrac, p.e.ExhaustPhaserRad, dt)
	p.charger(in, dt)
	p.rail(in, dt)
	oil := 0.0
	if p.speed > 10 {
		oil = math.Min(450e3, 80e3+p.speed*1.3e3)
	}
	p.oilPa += (oil - p.oilPa) * math.Min(1, dt/0.4)
}

// turn moves a phaser by its oil.
func (p *Plant) turn(at *float64, dutyFrac, travelRad, dt float64) {
	if travelRad <= 0 {
		return
	}
	const rate = 2.6 // rad/s of crank at full duty and pressure (from memory, 100 to 200 °/s)
	push := 2 * (math.Max(0, math.Min(1, dutyFrac)) - 0.5) * math.Min(1, p.oilPa/150e3)
	if p.oilPa < 50e3 {
		push = -0.5 // the spring parks it
	}
	*at = math.Max(0, math.Min(travelRad, *at+rate*push*dt))
}

const (
	pumpS = 0.15 // in which a pump fills a rail (from memory)
	// regulatorS is how far a regulator that follows the manifold is behind it: rail
	// and hoses of 0.1 L that yield by 1 part in 50 MPa take 0.2 mL for each 100 kPa,
	// which a pump with 60 L/h to spare brings in 12 ms; its air line adds some
	// (from memory: the hoses' share).
	regulatorS = 0.02
	leakS      = 60.0 // in which a standing rail loses its pressure
)

// rail moves the pressure of the fuel.
func (p *Plant) rail(in *Inputs, dt float64) {
	if !in.PumpOn {
		p.builtPa -= p.builtPa * math.Min(1, dt/leakS)
	} else {
		set := p.e.Injector.SetPa * math.Min(1, p.busV/9) * (1 - p.StarveFrac)
		p.builtPa += (set - p.builtPa) * math.Min(1, dt/pumpS)
	}
	if p.e.Injector.ManifoldReferenced && in.PumpOn {
		p.followPa += (p.manifoldPa - p.day.AmbientPa - p.followPa) * math.Min(1, dt/regulatorS)
	} else {
		p.followPa -= p.followPa * math.Min(1, dt/leakS)
	}
	p.railPa = math.Max(0, p.builtPa+p.followPa)
	if p.speed > 40 {
		p.railVapour -= p.railVapour * dt / soakS
	}
}

// charger lets a turbocharger follow the exhaust: its natural pressure grows
// with the air, full at 0.35 of what full load at the limit takes, in 0.6 s
// (from memory). The wastegate holds it down.
func (p *Plant) charger(in *Inputs, dt float64) {
	if p.e.BoostPa == 0 {
		p.upPa = p.day.AmbientPa
		return
	}
	full := p.e.Geometry.DisplacementM3() * p.e.MaxRadPerS / (4 * math.Pi) * (p.e.AmbientPa + p.e.BoostPa) / (airR * p.maps.chargeK)
	most := 1.4 * p.e.BoostPa * math.Min(1, p.throughKgPerS/(0.35*full))
	target := p.day.AmbientPa + most*math.Max(0.15, math.Min(1, in.WastegateFrac))
	p.upPa += (target - p.upPa) * math.Min(1, dt/0.6)
}
