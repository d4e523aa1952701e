package plant

import (
	"fmt"
	"math"

	"fettle/internal/alternator"
	"fettle/internal/battery"
)

// rest is the battery's voltage at rest and its resistance now. The laws hold for
// a battery that is neither below empty nor above full, from −30 to 60 °C, in
// which a day stands; else there is no answer.
func (p *Plant) rest() (openV, ohm float64, err error) {
	if openV, err = battery.OpenV(p.soc, p.day.AmbientK); err != nil {
		return 0, 0, err
	}
	ohm, err = battery.InternalOhm(p.e.Battery.ColdA, math.Min(333.15, p.day.AmbientK), p.soc)
	return openV, ohm, err
}

// electrics finds the voltage at the battery's posts: what the loads and the
// starter take comes from the alternator as far as it reaches, then from the
// battery.
func (p *Plant) electrics(in *Inputs, dt float64) {
	a := &p.e.Alternator
	if p.steps%16 == 0 || in.StarterOn { // these move slowly
		var err error
		if p.restV, p.restOhm, err = p.rest(); err != nil {
			p.end(err.Error())
			return
		}
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
	if in.AirConOn {
		load += clutchA
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
	if p.busV = v; v < leastV {
		p.end(fmt.Sprintf("the load pulls the battery down to %.1f V, at which nothing on board works", v))
		return
	}
	if p.soc = math.Min(1, p.soc+dt*(amps-p.loadA)/p.e.Battery.CapacityAs); p.soc < 0 {
		p.end("the battery is empty")
		return
	}
	p.accessoryNm = 0
	built := 0.0
	if in.AirConOn && p.speed > 20 {
		built = 1
		p.accessoryNm = p.e.AirConNm * math.Max(heldFrac, p.headFrac)
	}
	p.headFrac += (built - p.headFrac) * math.Min(1, dt/headS)
	if p.speed > 20 && amps > 0 {
		p.accessoryNm += a.PulleyRatio * alternator.ShaftTorqueNm(p.busV, amps, p.speed*a.PulleyRatio)
	}
}

// leastV is where relays drop out and no controller lives (common practice, 3 to 5 V).
const leastV = 3.0

// An air-con compressor that starts finds the pressures on both sides nearly even
// and builds its head up (from memory: a third of its torque, all in a few seconds).
const heldFrac, headS = 0.3, 1.0

// clutchA is what the clutch of an air-con compressor takes (common practice, 3 to 4 A).
const clutchA = 3.5
