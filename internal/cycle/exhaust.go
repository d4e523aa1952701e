package cycle

import "math"

// collector is what the exhaust runners of all cylinders end in: the pulses of
// one reach the others through it. Without a volume its pressure stands still.
type collector struct {
	pa, m3  float64
	perKg   float64 // Pa/kg
	law     float64 // kg/s per root of Pa, of the system behind it: ṁ² = law² · (p − outside)
	outside float64 // Pa
}

// passes sets the law behind the collector by a flow and the loss that it
// meets, and the gas in it.
func (c *collector) passes(kgPerS, lossPa, rt float64) {
	if c.m3 == 0 || lossPa < 1 || kgPerS <= 0 {
		c.pa, c.law = c.outside+lossPa, 0
		return
	}
	c.law, c.perKg = kgPerS/math.Sqrt(lossPa), exhaustGamma*rt/c.m3
}

// exhaustGamma is the ratio of specific heats of exhaust gas (Heywood, table 4.6; from memory).
const exhaustGamma = 1.31

// take moves the collector on by a step with a flow into it, the flow out of it
// at the pressure that it leads to: with y² = p − p_o, y² + K Δt law y = b.
func (c *collector) take(kgPerS, dt float64) {
	if c.law == 0 {
		return
	}
	b := c.pa - c.outside + dt*c.perKg*kgPerS
	k := dt * c.perKg * c.law / 2
	y := math.Sqrt(k*k+math.Abs(b)) - k
	c.pa = c.outside + math.Copysign(y*y, b)
}

// leave takes the flow of the exhaust runners into the collector.
func (r *engineRun) leave(flow, others float64) {
	if r.bank > 1 {
		r.along.ready(-1)
		flow += (r.bank - 1) * r.along.move(others, -1)
	}
	r.collector.take(flow, r.dt)
	r.drain.far, r.along.far = r.collector.pa, r.collector.pa
	r.sum.collected += r.collector.pa
	r.sum.port += r.drain.pa
}

// dropPa is the loss of the exhaust system at a mass flow.
func (e *Engine) dropPa(kgPerS float64) float64 {
	u := kgPerS / e.ExhaustDropKgPerS
	return e.ExhaustDropPa * u * math.Abs(u)
}

// backPressure sets what stands behind the collector: the system's loss, and
// what the turbine needs to drive the compressor.
func (r *engineRun) backPressure() {
	e, op := &r.m.engine, r.op
	kgPerS := r.sum.out.kg() * r.bank / r.seconds()
	after := op.AmbientPa + e.dropPa(kgPerS)
	far := after
	switch boost := op.UpstreamPa - op.AmbientPa; {
	case boost <= 0:
	case e.TurbineRatio > 0:
		far += e.TurbineRatio * boost
	case e.ChargerFrac > 0:
		far = after * TurbineRatio(op.UpstreamPa/op.AmbientPa, e.ChargerFrac, r.exhaustK(), op.ChargeK, 1/r.p.airPerFuel)
	}
	hot := r.exhaustK()
	r.collector.passes(kgPerS, far-op.AmbientPa, r.p.thermal(&r.sum.out, hot).mr/r.sum.out.kg()*hot)
}
