package breathing

import (
	"math"

	"fettle/internal/crank"
	"fettle/internal/gas"
)

// Constants of the intake stroke.
const (
	// chargeHeatRatio is the ratio of specific heats of air with some burned gas.
	chargeHeatRatio = 1.38
	// valveFlowRatio is the discharge coefficient of an intake valve with its
	// port, relative to the smaller of curtain and throat (Heywood, section
	// 6.3.2, 0.6 … 0.7 at high lift; from memory).
	valveFlowRatio = 0.65
	// throatFrac is the area of the throat over that of the valve head, seat
	// and stem taken off (common practice).
	throatFrac = 0.83
	// residualK is the temperature of the gas left in the cylinder at full
	// load and part load alike (Heywood, section 6.4; from memory).
	residualK = 1100.0
	// vapourFrac is the share of the inflow that fuel vapour takes (half of
	// the fuel evaporated in the port; petrol of 105 g/mol).
	vapourFrac = 0.01
	// Woschni's coefficient for bar, K, m and m/s, and his factor on piston
	// speed during gas exchange (SAE 670931).
	woschniLevel    = 129.8
	woschniVelocity = 6.18
	// portHeatFrac is how far the charge warms towards the coolant in the port
	// at 10 m/s mean piston speed and one bar (from memory of measured rises).
	portHeatFrac = 0.06
	// wallAboveK is the chamber wall's mean temperature above the coolant's.
	wallAboveK = 80.0
)

// valve is the intake valve event: angles from top dead centre of the intake stroke.
type valve struct {
	opens, closes float64
	liftM, headM  float64
	count         float64
}

// valve gives the event with the phaser a share of its range earlier.
func (in *Input) valve(advanceFrac float64) valve {
	early := advanceFrac * in.IntakePhaserRad
	return valve{
		opens: -in.IntakeOpensRad - early, closes: math.Pi + in.IntakeClosesRad - early,
		liftM: in.IntakeLiftM, headM: in.IntakeValveM, count: float64(in.IntakeValveCount),
	}
}

// areaM2 is the effective area: lift follows a squared sine from seat to seat,
// area is the curtain until the throat is smaller.
func (v valve) areaM2(angle float64) float64 {
	u := (angle - v.opens) / (v.closes - v.opens)
	if u <= 0 || u >= 1 {
		return 0
	}
	s := math.Sin(math.Pi * u)
	curtain := math.Pi * v.headM * v.liftM * s * s
	return valveFlowRatio * v.count * math.Min(curtain, throatFrac*math.Pi/4*v.headM*v.headM)
}

// stroke is one intake stroke: plenum, runner, port, valve, cylinder.
type stroke struct {
	geometry             crank.Geometry
	valve                valve
	speed                float64 // rad/s
	manifoldPa           float64 // in the plenum
	exhaustPa            float64
	inK                  float64 // of the gas that enters
	wallK                float64
	runnerM, runnerM2    float64 // length and section
	portM3               float64 // volume that the runner's column works against
	perArea              float64 // W/(m²·K) at one bar and 1 K, Woschni
	piston, linerPerPist float64
}

// contents is what the cylinder and the port hold.
type contents struct {
	pa, m3        float64
	fresh, burned float64 // kg in the cylinder
	portPa        float64
	runner        float64 // kg/s towards the port
	back          float64 // kg blown back out of the cylinder
	backBurned    float64 // its burned share
	backK         float64
	last          float64 // kg that passed the valve in the step before
}

func (c *contents) kg() float64 { return c.fresh + c.burned }
func (c *contents) k() float64  { return c.pa * c.m3 / (gas.AirJPerKgK * c.kg()) }

// fill integrates the stroke from top dead centre to the closing of the valve
// and returns the fresh and the burned gas trapped, in kg. Energy and mass are
// balanced in each step with the pressures at its end, which keeps the step
// stable where a wide valve meets a slow piston.
func (s *stroke) fill() (freshKg, burnedKg float64) {
	const steps = 160
	g := s.geometry
	c := contents{pa: s.exhaustPa, m3: g.ClearanceM3(), portPa: s.manifoldPa}
	c.burned = c.pa * c.m3 / (gas.AirJPerKgK * residualK)
	step := s.valve.closes / steps
	for i := range steps {
		at := step * (float64(i) + 1)
		s.advance(&c, g.CylinderM3(at), s.valve.areaM2(at-step/2), step/s.speed)
	}
	return c.fresh, c.burned
}

// advance moves the contents on by one step of dt seconds to a new volume. The
// unknown is the mass that passes the valve.
func (s *stroke) advance(c *contents, m3, area, dt float64) {
	const cp = chargeHeatRatio * gas.AirJPerKgK / (chargeHeatRatio - 1)
	inK, outK := s.inK, c.k()
	if c.back > 0 {
		inK = c.backK
	}
	stiff := chargeHeatRatio * gas.AirJPerKgK * s.inK / s.portM3 // Pa/kg
	push := dt * s.runnerM2 / s.runnerM                          // kg/s per Pa
	drag := 1 + push*math.Abs(c.runner)/(2*s.runnerM2*s.runnerM2)*gas.AirJPerKgK*s.inK/s.manifoldPa
	column := func(portPa float64) float64 { return (c.runner + push*(s.manifoldPa-portPa)) / drag }
	heat := s.heat(c, outK, dt)
	// pressures after kg has passed inwards; the column in the runner, which
	// loses a velocity head on the way, is solved for along with the port
	after := func(kg float64) (portPa, pa float64) {
		kelvin := inK
		if kg < 0 {
			kelvin = outK
		}
		half := (m3 - c.m3) / 2
		pa = ((c.pa*c.m3+(chargeHeatRatio-1)*(cp*kelvin*kg+heat))/(chargeHeatRatio-1) - c.pa*half) / (m3/(chargeHeatRatio-1) + half)
		return (c.portPa + stiff*(column(0)*dt-kg)) / (1 + stiff*dt*push/drag), pa
	}
	miss := func(kg float64) float64 {
		portPa, pa := after(kg)
		portPa, pa = math.Max(portPa, 1), math.Max(pa, 1)
		if pa <= portPa {
			return kg - area*dt*flux(portPa, inK, pa)
		}
		return kg + area*dt*flux(pa, outK, portPa)
	}
	kg := rootNear(miss, c.last, 1e-6*c.kg())
	portPa, pa := after(kg)
	c.move(kg)
	c.last = kg
	c.runner = column(portPa)
	c.pa, c.m3, c.portPa = math.Max(pa, 1), m3, math.Max(portPa, 1)
}

// heat is what the walls give to the charge in a step, by Woschni's law with
// the velocity of gas exchange.
func (s *stroke) heat(c *contents, kelvin, dt float64) float64 {
	area := s.piston * (2 + s.linerPerPist*(c.m3/s.piston))
	h := s.perArea * math.Exp(woschniExponent*math.Log(c.pa/1e5)-0.53*math.Log(kelvin))
	return h * area * (s.wallK - kelvin) * dt
}

// move takes gas from the port into the cylinder, what was blown back first, or
// from the cylinder into the port when kg is negative.
func (c *contents) move(kg float64) {
	if kg < 0 {
		share, k := -kg/c.kg(), c.k()
		burned := c.burned * share
		c.backK = (c.backK*c.back - k*kg) / (c.back - kg)
		c.backBurned = math.Min(1, (c.backBurned*c.back+burned)/(c.back-kg)) // rounding may exceed 1
		c.back -= kg
		c.fresh, c.burned = c.fresh*(1-share), c.burned*(1-share)
		return
	}
	back := math.Min(kg, c.back)
	c.back -= back
	c.burned += back * c.backBurned
	c.fresh += kg - back*c.backBurned
}

// flux is the mass flow per effective area, kg/(s·m²).
func flux(upPa, upK, downPa float64) float64 {
	const g = chargeHeatRatio
	pr := math.Max(downPa/upPa, 0.5301) // critical for 1.38
	a := math.Exp(math.Log(pr) / g)
	return upPa / math.Sqrt(gas.AirJPerKgK*upK) * a * math.Sqrt(2*g/(g-1)*math.Max(0, 1-pr/a))
}

// rootNear finds the zero of a rising function near a guess, within tol: it
// widens a bracket about the guess and narrows it by the Illinois rule.
func rootNear(f func(float64) float64, guess, tol float64) float64 {
	low, high := guess, guess
	fl := f(guess)
	fh := fl
	for reach := 16 * tol; fl > 0; reach *= 8 {
		high, fh = low, fl
		low -= reach
		fl = f(low)
	}
	for reach := 16 * tol; fh < 0; reach *= 8 {
		low, fl = high, fh
		high += reach
		fh = f(high)
	}
	side := 0
	for range 60 {
		if high-low < tol || fh == fl {
			break
		}
		x := (low*fh - high*fl) / (fh - fl)
		fx := f(x)
		if math.Abs(fx) < tol {
			return x
		}
		if fx < 0 {
			low, fl = x, fx
			if side == -1 {
				fh /= 2
			}
			side = -1
		} else {
			high, fh = x, fx
			if side == 1 {
				fl /= 2
			}
			side = 1
		}
	}
	return (low + high) / 2
}

// VolEffFrac returns the volumetric efficiency relative to dry air at the
// manifold's pressure and temperature: the fresh air trapped when the intake
// valve closes over that of the swept volume.
//
//	dU = c_p T dm − p dV + h A_w (T_w − T) dt
//	dm = C A(θ) p₀/√(R T₀) Ψ(p/p₀) dt
//	dṁ_r/dt = (A_r/l)(p_m − p_port − ½ ρ v²)
//	dp_port/dt = γ R T (ṁ_r − ṁ)/(½ A_r l)
//	η_v = 0.99 · m_fresh R T_m/(p_m V_s)
//
// where dm flows either way through the valves' effective area, starting with
// burned gas of 1100 K at the exhaust's pressure in the clearance volume; h is
// Woschni's coefficient of gas exchange to walls 80 K above the coolant; the
// charge warms by 6 % of the way to the coolant in the port; ṁ_r is the flow of
// the runner's column, at rest when the valve opens. Waves left over from the
// cycle before and those of the exhaust are not in it.
//
// Valid: as Input, 20 … 1500 rad/s, 10 … 450 kPa; outside an error is returned.
// Accuracy: 6 % at one standard deviation over engines above a third of the speed limit; below, it stands high, by 13 % at a quarter of the limit on the one engine held against it. See VolEffSdFrac.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, sections 6.2 and 6.3, appendix C; Woschni, SAE 670931.
// Errors: those of Input.Check; speed or pressure out of range.
func VolEffFrac(in Input, speedRadPerS, manifoldPa float64) (float64, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	if err := within("engine speed", speedRadPerS, 20, 1500, "rad/s"); err != nil {
		return 0, err
	}
	if err := within("manifold pressure", manifoldPa, 10e3, 450e3, "Pa"); err != nil {
		return 0, err
	}
	ve, _ := in.volEff(speedRadPerS, manifoldPa, in.bestAdvance(speedRadPerS))
	return ve, nil
}

// volEff is the volumetric efficiency and the burned share of the trapped gas.
func (in *Input) volEff(speed, manifoldPa, advanceFrac float64) (ve, burnedFrac float64) {
	g := in.Geometry
	chargeK := in.chargeK(manifoldPa)
	piston := g.MeanPistonMPerS(speed)
	warm := 1 - math.Exp(-portHeatFrac*math.Pow(manifoldPa/1e5*piston/10, woschniExponent-1))
	section := math.Pi / 4 * in.RunnerBoreM * in.RunnerBoreM
	s := stroke{
		geometry: g, valve: in.valve(advanceFrac), speed: speed, manifoldPa: manifoldPa,
		exhaustPa: in.exhaustPa(speed, manifoldPa), inK: chargeK + warm*(in.CoolantK-chargeK), wallK: in.CoolantK + wallAboveK,
		runnerM: in.RunnerM, runnerM2: section, portM3: section * in.RunnerM / 2,
		perArea: woschniLevel * math.Pow(g.BoreM, -0.2) * math.Pow(woschniVelocity*piston, woschniExponent),
		piston:  math.Pi / 4 * g.BoreM * g.BoreM, linerPerPist: 4 / g.BoreM,
	}
	fresh, burned := s.fill()
	return (1 - vapourFrac) * fresh * gas.AirJPerKgK * chargeK / (manifoldPa * g.SweptM3()), burned / (fresh + burned)
}

// exhaustPa is the pressure in the exhaust manifold: it rises with the square
// of the flow, and by what a turbine holds back.
func (in *Input) exhaustPa(speed, manifoldPa float64) float64 {
	flow := speed / in.MaxRadPerS * manifoldPa / (in.AmbientPa + in.BoostPa)
	return in.AmbientPa + in.turbinePa(manifoldPa) + in.ExhaustDropPa*flow*flow
}

// bestAdvance is the phaser's share of its range that traps most air at full load.
func (in *Input) bestAdvance(speed float64) float64 {
	if in.IntakePhaserRad == 0 {
		return 0
	}
	best, most := 0.0, 0.0
	for _, a := range []float64{0, 0.25, 0.5, 0.75, 1} {
		if ve, _ := in.volEff(speed, in.WideOpenPa(speed), a); ve > most {
			best, most = a, ve
		}
	}
	return best
}

// WideOpenPa returns the manifold pressure with the throttle open.
//
//	p = p_a + p_boost − Δp · (ω/ω_max)²
//
// where Δp is the drop of filter and throttle at the limit.
//
// Valid: 0 … the speed limit.
// Accuracy: 1 kPa for an intake of known drop.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-57: loss with the square of flow.
// Errors: none.
func (in *Input) WideOpenPa(speedRadPerS float64) float64 {
	u := speedRadPerS / in.MaxRadPerS
	return in.AmbientPa + in.BoostPa - in.IntakeDropPa*u*u
}
