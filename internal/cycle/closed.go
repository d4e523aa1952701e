package cycle

import (
	"errors"
	"fmt"
	"math"
)

var errNoBurn = errors.New("it does not burn")

// DoesNotBurn reports whether an error says that a charge does not burn.
func DoesNotBurn(err error) bool { return errors.Is(err, errNoBurn) }

// charge is the gas in the cylinder.
type charge struct {
	mass
	energy, kelvin, pa float64
	heat               float64 // W to the gas, of the step before
	lostKg, lostJ      float64 // past the rings since the intake valve closed
	now                thermal // totals at kelvin
}

// set completes a charge from mass, temperature and volume.
func (c *charge) set(p *props, m3 float64) {
	c.now = p.thermal(&c.mass, c.kelvin)
	c.energy, c.pa = c.now.energy, c.now.mr*c.kelvin/m3
}

// take moves the charge to a new energy and volume, its mass already there.
func (c *charge) take(p *props, energy, guess, m3 float64) {
	c.energy = energy
	c.kelvin, c.now = p.state(&c.mass, energy, guess)
	c.pa = c.now.mr * c.kelvin / m3
}

// fire is one combustion.
type fire struct {
	spark         float64 // crank angle
	lit, ideal    bool
	pace          float64 // length of the burn over the mean's; 0 is 1
	start, length float64 // of the Wiebe law, crank angle
	done          float64 // burned fraction
	fuelled       mass    // what will burn
	unburned      float64 // K
	before        mass    // the charge before it burned
	knock         float64 // integral
	next          float64 // burned fraction at the end of the step
	half, most    float64 // crank angle at half and at nine tenths burned
	peak          float64
	fault         error
}

// setting is what stays the same through the closed part of a cycle.
type setting struct {
	m      *Model
	p      *props
	flame  flameLaw
	speed  float64
	dt, d  float64
	wallK  float64
	level  float64 // of the heat transfer coefficient, without p^0.8 and T^−0.53
	open   float64 // gas speed with a valve open
	shut   float64 // and without
	burnW  float64 // what combustion adds, per Pa
	motPa  float64 // p_r V_r^1.32
	delay  float64 // octane's factor of the knock delay, s
	linerM float64 // area of the liner per volume
	past   float64 // flow past the rings per pressure; 0 is tight
	casePa float64
	still  bool // no heat to the walls: the limit
}

func (m *Model) setting(op *Operating, p *props) *setting {
	e := &m.engine
	d := 2 * math.Pi / float64(m.steps)
	piston := e.Geometry.MeanPistonMPerS(op.SpeedRadPerS)
	load := math.Sqrt(math.Max(0.2, op.ManifoldPa/wallAtPa))
	if op.WideOpen {
		load = math.Sqrt(op.UpstreamPa / wallAtPa)
	}
	wall := e.CoolantK
	if !op.ColdWalls {
		wall += wallAboveK * load
	}
	return &setting{
		past: leakLevel(e.Geometry.BoreM, wall), casePa: op.AmbientPa,
		m: m, p: p, flame: flameLawOf(1 / op.LambdaRatio), speed: op.SpeedRadPerS, dt: d / op.SpeedRadPerS, d: d,
		wallK: wall, level: woschniLevel * math.Pow(e.Geometry.BoreM, -0.2) * math.Pow(1e-5, 0.8),
		open: woschniOpen * piston, shut: woschniClosed * piston, delay: octaneDelay(e.Fuel.OctaneCount), linerM: 4 / e.Geometry.BoreM,
	}
}

// wide is the setting in steps of twice the size: step i of it are the steps 2i
// and 2i + 1.
func (s *setting) wide() setting {
	w := *s
	w.m, w.dt, w.d = s.m.wide, 2*s.dt, 2*s.d
	return w
}

// closes notes the state at the closing of the intake valve.
func (s *setting) closes(c *charge, m3 float64) {
	s.burnW = woschniBurn * s.m.engine.Geometry.SweptM3() * c.kelvin / (c.pa * m3)
	s.motPa = c.pa * math.Pow(m3, motoredExponent)
	c.lostKg, c.lostJ = 0, 0
}

// warm is the heat to the gas in W, at a pressure, temperature and volume.
func (s *setting) warm(pa, kelvin, wall, gasSpeed, m3 float64) float64 {
	if s.still {
		return 0
	}
	area := s.m.piston*(1+headRatio) + s.linerM*m3
	return s.level * power08.of(pa*gasSpeed) * wall * area * (s.wallK - kelvin)
}

// run takes the charge from step i to step j with both valves shut, and
// returns the work done by the gas and the heat to it.
func (s *setting) run(c *charge, f *fire, i, j int) (work, heat float64) {
	for ; i < j; i++ {
		w, q := s.step(c, f, i)
		work, heat = work+w, heat+q
	}
	return work, heat
}

// step is the midpoint rule in energy: pressure and heat in the middle of the
// step are found from an explicit half step.
func (s *setting) step(c *charge, f *fire, i int) (work, heat float64) {
	m, k := s.m, i%s.m.steps
	v0, vm, v1 := m.ends[k], m.mids[k], m.ends[k+1]
	to := float64(i+1) * s.d
	if !f.lit && to > f.spark {
		s.light(c, f, i)
	}
	if s.past > 0 {
		s.leak(c, f)
	}
	gasSpeed := s.shut
	before, pa0 := c.mass, c.pa
	energy := c.energy - c.pa*(vm-v0) + c.heat*s.dt/2
	var mid thermal
	var kelvin float64
	if f.lit && f.done < 1 {
		middle := before
		f.burn(&middle, to-s.d/2)
		kelvin, mid = s.p.state(&middle, energy, c.kelvin)
		f.burn(&c.mass, to)
	} else {
		mid = c.now
		kelvin = c.kelvin + (energy-c.energy)/mid.slope
	}
	pm := mid.mr * kelvin / vm
	if f.lit {
		if more := pm - s.motPa*m.motored[k]; more > 0 {
			gasSpeed += s.burnW * more
		}
	}
	c.heat = s.warm(pm, kelvin, mid.wall, gasSpeed, vm)
	work, heat = pm*(v1-v0), c.heat*s.dt
	c.take(s.p, c.energy+heat-work, 2*kelvin-c.kelvin, v1)
	if c.pa > f.peak {
		f.peak = c.pa
	}
	switch {
	case f.lit && f.ideal:
		f.done = 1
	case f.lit && f.done < 1:
		s.follow(f, pa0, c.pa, to)
	}
	return work, heat
}

// light sets the flame going with the state at the spark, which stands within
// step i.
func (s *setting) light(c *charge, f *fire, i int) {
	f.lit = true
	f.before = c.mass
	f.fuelled = mass{air: math.Min(c.air, c.fuel*s.p.airPerFuel)}
	f.fuelled.fuel = f.fuelled.air / s.p.airPerFuel
	if f.ideal {
		f.start, f.length = f.spark-1, 1e-9
		return
	}
	f.fuelled = f.fuelled.times(completeFrac)
	m := s.m
	k := i % m.steps
	at := math.Max(0, f.spark/s.d-float64(i))
	v := m.ends[k] + at*(m.ends[k+1]-m.ends[k])
	squeeze := m.ends[k] / v
	kelvin, pa := c.kelvin*math.Pow(squeeze, 0.33), c.pa*math.Pow(squeeze, 1.33)
	f.unburned = c.kelvin
	share := c.burned / c.kg()
	speed := s.flame.of(kelvin, pa, share)
	if speed < slowestFlame {
		f.fault = fmt.Errorf("burned gas %.3g of the charge at the spark leaves a laminar flame speed of %.3g m/s, below %g m/s: %w", share, speed, slowestFlame, errNoBurn)
		speed = slowestFlame
	}
	length := s.length(kelvin, v, m.least, c.kg(), speed)
	if f.pace == 0 {
		f.pace = 1
	}
	f.start = f.spark + f.pace*length*(delayLevel/burnLevel)
	// the burn itself goes on in the chamber near the top, squeezed further
	squeeze = v / m.least
	if f.spark > 2*math.Pi {
		squeeze = 1
	}
	warm, dense := math.Pow(squeeze, 0.33), math.Pow(squeeze, 1.33)
	f.length = f.pace * s.length(kelvin*warm, v/squeeze, m.least, c.kg(), math.Max(slowestFlame, s.flame.of(kelvin*warm, pa*dense, share)))
}

// length is BurnRad of a state: temperature, volume and mass, and flame speed.
func (s *setting) length(kelvin, m3, chamberM3, kg, speed float64) float64 {
	e := &s.m.engine
	nu := viscosity(kelvin) * m3 / kg
	height := chamberM3 / s.m.piston
	return e.BurnRatio * burnLevel * math.Cbrt(e.Geometry.MeanPistonMPerS(s.speed)*nu) * math.Cbrt(height/speed*height/speed) / e.Geometry.StrokeM
}

// burn moves a mass on to what is burned at a crank angle. The state of the
// fire is moved with it.
func (f *fire) burn(m *mass, angle float64) {
	f.next = wiebe((angle - f.start) / f.length)
	d := f.next - f.done
	m.air -= f.fuelled.air * d
	m.fuel -= f.fuelled.fuel * d
	m.burned += (f.fuelled.air + f.fuelled.fuel) * d
}

// follow brings the burned fraction, the end gas and the knock integral on to
// the end of a step.
func (s *setting) follow(f *fire, pa0, pa1, to float64) {
	x := f.next
	if f.done < 0.5 && x >= 0.5 {
		f.half = to - s.d*(x-0.5)/(x-f.done)
	}
	if f.done < audibleFrac {
		th := s.p.thermal(&f.before, f.unburned)
		z := th.mr / (th.mr + th.slope) * 2 * (pa1 - pa0) / (pa1 + pa0)
		next := f.unburned * (1 + z*(1+z/2))
		share := 1.0
		if x >= audibleFrac {
			share = (audibleFrac - f.done) / (x - f.done)
			f.most = to - s.d*(1-share)
		}
		f.knock += share * s.dt * delayRate((pa0+pa1)/2, (f.unburned+next)/2) / s.delay
		f.unburned = next
	}
	f.done = x
}
