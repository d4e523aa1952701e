package plant

import (
	"math"

	"fettle/internal/alternator"
	"fettle/internal/battery"
)

// openV is the battery's rest voltage; the laws hold from −30 to 60 °C, in which
// a day stands.
func (p *Plant) openV() float64 {
	v, err := battery.OpenV(math.Max(0, math.Min(1, p.soc)), p.day.AmbientK)
	if err != nil {
		return 0
	}
	return v
}

func (p *Plant) batteryOhm() float64 {
	r, err := battery.InternalOhm(p.e.Battery.ColdA, math.Min(333.15, p.day.AmbientK), math.Max(0, math.Min(1, p.soc)))
	if err != nil {
		return 1
	}
	return r
}

// electrics finds the voltage at the battery's posts: what the loads and the
// starter take comes from the alternator as far as it reaches, then from the
// battery.
func (p *Plant) electrics(in *Inputs, dt float64) {
	a := &p.e.Alternator
	if p.steps%16 == 0 || in.StarterOn { // these move slowly
		p.restV, p.restOhm = p.openV(), p.batteryOhm()
	}
	p.steps++
	load := 8.0 // controller, relays, sensors (common practice)
	if p.speed > 40 {
		load = a.LoadA
	}
	if in.PumpOn {
		load += a.PumpA
	}
	if in.FanOn {
		load += a.FanA
	}
	p.draughtFrac = math.Min(1, 0.12+p.roadMPerS/20)
	if in.FanOn {
		p.draughtFrac = math.Max(p.draughtFrac, 0.7)
	}
	_, p.starterA = p.starterNm(in.StarterOn)
	p.loadA = load + p.starterA
	excited := 0.0
	if p.speed > 60 && !in.StarterOn {
		excited = 1
	}
	p.alternator += (excited - p.alternator) * math.Min(1, dt/0.5)
	most := p.alternator * alternator.OutputA(a.RatedA, math.Max(0, p.speed)*a.PulleyRatio)
	set := alternator.SetV(a.SetV, math.Min(393, p.day.AmbientK+20))
	// all from the alternator: I = I_load + (U − E)/R_accept, U = set − I·R_s
	amps := (p.loadA + (set-p.restV)/p.e.Battery.AcceptOhm) / (1 + a.SlopeOhm/p.e.Battery.AcceptOhm)
	amps = math.Max(0, amps)
	v := set - amps*a.SlopeOhm
	if amps > most || most == 0 {
		amps = most
		into := amps - p.loadA
		v = p.restV + into*p.restOhm
		if into > 0 {
			v = math.Min(set, p.restV+into*p.e.Battery.AcceptOhm)
		}
	}
	p.alternatorA = amps
	p.busV = math.Max(3, v)
	p.soc = math.Max(0, math.Min(1, p.soc+dt*(amps-p.loadA)/p.e.Battery.CapacityAs))
	p.accessoryNm = 0
	if p.speed > 20 && amps > 0 {
		p.accessoryNm = a.PulleyRatio * alternator.ShaftTorqueNm(p.busV, amps, p.speed*a.PulleyRatio)
	}
}
