package cycle

import (
	"math"
)

// A step takes the pressures that drive the gas a share of the way towards its
// end: 0.5 is the midpoint rule, more of it calms what is stiff. Where a runner
// swings through more than calmTurn of its period's radians in a step, a slow
// engine's short pipe, the swing can't be followed: there the share grows until,
// at stillTurn, the pipe follows what drives it without one.
const (
	leanLeast = 0.55
	calmTurn  = 0.7
	stillTurn = 2.0
)

func leanOf(turnRad float64) float64 {
	return leanLeast + (1-leanLeast)*math.Max(0, math.Min(1, (turnRad-calmTurn)/(stillTurn-calmTurn)))
}

// pipeQuality is how many radians a swing in a closed runner lasts to 1/e,
// halved: by friction at the walls and radiation from the open end (common
// practice for tuned runners, 10 … 25).
const pipeQuality = 15.0

// pipe is a runner as a lumped element: half its gas by volume at the valve's
// end, all of it by inertia between that and the far end.
type pipe struct {
	pa, flow   float64 // at the valve's end; kg/s, positive with the stroke's flow
	far        float64 // Pa at the far end
	perKg      float64 // Pa/kg at the valve's end
	perPa      float64 // kg/s² per Pa: section over length
	loss       float64 // Pa per (kg/s)²: one velocity head
	fade       float64 // 1/s: what walls and ends take from a swing
	base, bend float64 // pressure at the valve's end: base − bend · flow through the valve
	free, push float64 // flow in the pipe: free + push · (drop along it)

	// of a step: flow per drop of pressure, pressure per flow towards it and over
	// all of it, loss per flow, 1 and what fades, one over its lean
	inertia, stiff, whole, drag, spring, slow, ahead float64
}

func newPipe(d Duct, pa, kelvin, gasR, gamma float64) pipe {
	section := math.Pi / 4 * d.BoreM * d.BoreM
	p := pipe{
		pa: pa, far: pa, perKg: gamma * gasR * kelvin / (section * d.LengthM / 2), perPa: section / d.LengthM,
		loss: gasR * kelvin / (2 * section * section * pa),
	}
	p.fade = math.Sqrt(p.perKg*p.perPa) / pipeQuality
	return p
}

// paced fits the pipe to steps of dt seconds that lean so far.
func (p *pipe) paced(dt, lean float64) {
	half := lean * dt
	p.inertia, p.stiff, p.whole, p.ahead = half*p.perPa, half*p.perKg, dt*p.perKg, 1/lean
	p.drag, p.spring = p.inertia*p.loss, p.stiff*p.inertia
	p.slow = 1 + half*p.fade
}

// ready solves for the pipe with the valve's flow still open. Sense is +1 for a
// pipe that feeds the valve, −1 for one that is fed by it.
func (p *pipe) ready(sense float64) {
	slow := p.slow + p.drag*math.Abs(p.flow)
	all := slow + p.spring
	one := 1 / (slow * all)
	damp, inv := all*one, slow*slow*one
	p.free, p.push = p.flow*damp, p.inertia*damp
	p.base = (p.pa + p.stiff*(sense*p.free+p.push*p.far)) * inv
	p.bend = p.stiff * inv
}

// move advances the pipe with the flow through the valve known, and returns
// the mean flow in the pipe over the step.
func (p *pipe) move(valve, sense float64) float64 {
	at := p.base - sense*p.bend*valve
	flow := p.free + sense*p.push*(p.far-at)
	p.pa += p.whole * sense * (flow - valve)
	p.flow += (flow - p.flow) * p.ahead
	return flow
}

// passage finds the flow through an effective area from a pressure drop that
// the flow itself lowers: F = k √(Δ − S F), k from the compressible flow
// function. It is positive with the drop.
func passage(area, drop, stiff, upPa, upRT, downPa, downRT float64, up, down *psi) float64 {
	if area == 0 || drop == 0 {
		return 0
	}
	if drop < 0 {
		return -passage(area, -drop, stiff, downPa, downRT, upPa, upRT, down, up)
	}
	k2 := area * area * upPa / upRT
	left := drop
	var flow float64
	for range 2 {
		kk := k2 * up.of(1-left/upPa)
		c := stiff / 2
		flow = drop / (c + math.Sqrt(c*c+drop/kk))
		if left = drop - stiff*flow; left < 0 {
			left = 0
		}
	}
	return flow
}

// engineRun is one cylinder on its way through cycles.
type engineRun struct {
	*setting
	op        *Operating
	in        inflow
	intake    []float64 // effective areas by step
	exhaust   []float64
	own       []float64 // flow through the intake valves by step, as last seen
	ownOut    []float64 // the same of the exhaust
	keep      float64   // how much of what was seen before stays in them
	shifts    []int     // how many steps the other cylinders are ahead
	shuts     int       // first step with the intake shut
	opens     int       // first step with the exhaust open
	feed      pipe
	drain     pipe
	beside    pipe // the mean of the other cylinders' intake runners
	along     pipe // the mean of the other cylinders' exhaust runners
	collector collector
	bank      float64 // cylinders
	lean      float64
	c         charge
	f         fire
	back      mass // blown into the intake, comes back first
	backH     float64
	backRT    float64
	out       mass // 1 kg of what left last
	outH      float64
	outRT     float64
	plenum    float64
	still     bool    // the plenum's pressure stands: the first cycle, whose flows are guessed
	perKg     float64 // Pa/kg of the plenum
	throttle  float64 // effective area when open, m²
	through   float64 // else the flow at the mean pressure
	slack     float64 // and how it falls with pressure, kg/s per Pa
	best      float64 // spark of most work, as last sought
	fuelKg    float64 // injected directly, per cycle
	inject    [2]int  // steps
	sum       totals
	course    *Course // nil unless it is written down
}

// totals are what a cycle adds up.
type totals struct {
	in, out       mass
	inH, outH     float64
	fuelKg, fuelH float64
	work, gross   float64
	heat          float64
	plenum        float64 // sum over steps
	collected     float64 // of the collector's pressure
	port          float64 // of that behind the exhaust valve
	plenumAt      float64 // at the start
	backKg        float64
	startKg       float64
	startJ        float64
	closing       charge
}

// closedPart runs from the closing of the intake to the opening of the exhaust.
func (r *engineRun) closedPart() {
	r.closes(&r.c, r.m.ends[r.shuts%r.m.steps])
	r.f = fire{spark: r.f.spark}
	r.sum.closing = r.c
	for i := r.shuts; i < r.opens; i++ {
		w, q := r.step(&r.c, &r.f, i)
		r.count(i, w, q)
		r.pipes(i, 0, 0)
		if r.course != nil {
			r.note(i)
		}
	}
}

func (r *engineRun) count(i int, work, heat float64) {
	r.sum.work += work
	r.sum.heat += heat
	if n := r.m.steps; i >= n/2 && i < 3*n/2 {
		r.sum.gross += work
	}
}

// pipes advances runners and plenum by a step, the valves' flows known.
func (r *engineRun) pipes(i int, in, out float64) {
	n := 2 * r.m.steps
	if in == 0 {
		r.feed.ready(1)
	}
	if out == 0 {
		r.drain.ready(-1)
	}
	flow := r.feed.move(in, 1)
	k := i % n
	othersIn, othersOut := r.others(k)
	r.own[k] += (1 - r.keep) * (in - r.own[k])
	r.ownOut[k] += (1 - r.keep) * (out - r.ownOut[k])
	r.leave(r.drain.move(out, -1), othersOut)
	r.beside.ready(1)
	need := flow + (r.bank-1)*r.beside.move(othersIn, 1)
	through := r.through
	if r.op.WideOpen {
		half := r.lean * r.dt
		at := r.plenum - half*r.perKg*need
		rt := r.m.gas.airR * r.op.ChargeK
		through = passage(r.throttle, r.op.UpstreamPa-at, half*r.perKg, r.op.UpstreamPa, rt, r.plenum, rt, freshPsi, freshPsi)
	} else {
		through -= r.slack * (r.plenum - r.op.ManifoldPa)
	}
	if !r.still {
		r.plenum += r.dt * r.perKg * (through - need)
	}
	r.feed.far, r.beside.far = r.plenum, r.plenum
	r.sum.plenum += r.plenum
}

// others are the mean flows of the other cylinders in a step: they do what this
// one did when it stood where they stand.
func (r *engineRun) others(k int) (in, out float64) {
	n := len(r.own)
	for _, s := range r.shifts {
		at := k + s
		if at >= n {
			at -= n
		}
		in, out = in+r.own[at], out+r.ownOut[at]
	}
	if len(r.shifts) > 0 {
		in, out = in/(r.bank-1), out/(r.bank-1)
	}
	return in, out
}

// openPart runs from the opening of the exhaust to the closing of the intake.
func (r *engineRun) openPart() {
	end := r.shuts + 2*r.m.steps
	r.c.heat = 0
	for i := r.opens; i < end; i++ {
		r.openStep(i)
		if r.course != nil {
			r.note(i)
		}
	}
}

// openStep advances the cylinder with a valve open. The flows are found with
// the pressures that they lead to, which keeps wide valves at a slow piston
// from swinging; mass and energy are then moved by exactly those flows.
func (r *engineRun) openStep(i int) {
	m, c := r.m, &r.c
	n := 2 * m.steps
	k, cell := i%m.steps, i%n
	v0, v1 := m.ends[k], m.ends[k+1]
	half := r.lean * r.dt
	gamma := 1 + c.now.mr/c.now.slope
	rt := c.now.mr * c.kelvin / c.kg()
	vAt := v0 + r.lean*(v1-v0)
	base := c.pa + (r.lean*(v0-v1)*gamma*c.pa+(gamma-1)*c.heat*half)/vAt
	stiffOut := gamma * rt / vAt * half
	inRT := r.in.r * r.in.kelvin
	if r.back.burned > 0 {
		inRT = r.backRT
	}
	stiffIn := gamma * inRT / vAt * half
	r.feed.ready(1)
	r.drain.ready(-1)
	out := 0.0
	if a := r.exhaust[cell]; a > 0 {
		out = r.outGuess(a, base, stiffOut, rt)
	}
	in := passage(r.intake[cell], r.feed.base-(base-stiffOut*out), r.feed.bend+stiffIn, r.feed.base, inRT, base, rt, freshPsi, burnedPsi)
	if a := r.exhaust[cell]; a > 0 && in != 0 {
		out = r.outGuess(a, base+stiffIn*in, stiffOut, rt)
	}
	at := base + stiffIn*in - stiffOut*out // pressure that drove the flows
	r.moveGas(i, in, out, at, vAt)
}

func (r *engineRun) outGuess(area, pa, stiff, rt float64) float64 {
	return passage(area, pa-r.drain.base, stiff+r.drain.bend, pa, rt, r.drain.base, r.outRT, burnedPsi, burnedPsi)
}

// moveGas takes what passed the valves, the work and the heat into account.
func (r *engineRun) moveGas(i int, in, out, pa, vAt float64) {
	m, p, c := r.m, r.p, &r.c
	k := i % m.steps
	dv := m.ends[k+1] - m.ends[k]
	kelvin := pa * vAt / (c.now.mr + (in-out)*r.lean*r.dt*r.in.r)
	if kelvin > c.kelvin*1.2 || kelvin < c.kelvin*0.8 { // a first cycle far from the mark
		kelvin = c.kelvin
	}
	mid := p.thermal(&c.mass, kelvin)
	each := (mid.energy + mid.mr*kelvin) / c.kg() // enthalpy of what leaves
	share := c.mass.times(1 / c.kg())
	c.heat = r.warm(pa, kelvin, mid.wall, r.open, vAt)
	heat, work := c.heat*r.dt, (c.pa+(pa-c.pa)*(0.5/r.lean))*dv
	c.energy += heat - work
	r.passIn(in*r.dt, share, each)
	r.passOut(out*r.dt, share, each, mid.mr*kelvin/c.kg())
	if r.inject[1] > r.inject[0] && i%(2*m.steps) >= r.inject[0] && i%(2*m.steps) < r.inject[1] {
		kg := r.fuelKg / float64(r.inject[1]-r.inject[0])
		h := r.m.gas.liquidFuel(r.op.ChargeK) + (1-evapDirect)*r.m.engine.Fuel.LatentJPerKg
		c.fuel += kg
		c.energy += kg * h
		r.sum.fuelKg += kg
		r.sum.fuelH += kg * h
	}
	c.take(p, c.energy, kelvin, m.ends[k+1])
	r.count(i, work, heat)
	r.pipes(i, in, out)
}

// passIn moves gas through the intake valve: what was blown back comes first.
func (r *engineRun) passIn(kg float64, share mass, each float64) {
	c := &r.c
	if kg == 0 {
		return
	}
	if kg < 0 {
		moved := share.times(-kg)
		r.back.add(moved)
		r.backH -= kg * each
		r.backRT = r.p.gasRT(&r.back, r.backH, r.in.kelvin+50)
		c.add(moved.times(-1))
		c.energy += kg * each
		r.sum.inH += kg * each
		r.sum.in.add(moved.times(-1))
		r.sum.backKg -= kg
		return
	}
	h := 0.0
	var moved mass
	if b := r.back.kg(); b > kg {
		part := kg / b
		moved, h = r.back.times(part), r.backH*part
	} else {
		moved, h = r.back, r.backH
		moved.add(r.in.share.times(kg - b))
		h += r.in.enthalpy * (kg - b)
	}
	if b := r.back.kg(); b > kg {
		r.back, r.backH = r.back.times(1-kg/b), r.backH*(1-kg/b)
	} else {
		r.back, r.backH = mass{}, 0
	}
	c.add(moved)
	c.energy += h
	r.sum.inH += h
	r.sum.in.add(moved)
}

// passOut moves gas through the exhaust valve; what comes back is like what
// left last.
func (r *engineRun) passOut(kg float64, share mass, each, rt float64) {
	if kg == 0 {
		return
	}
	if kg > 0 {
		r.out, r.outH, r.outRT = share, each, rt
	}
	moved := r.out.times(kg)
	r.c.add(moved.times(-1))
	r.c.energy -= kg * r.outH
	r.sum.out.add(moved)
	r.sum.outH += kg * r.outH
}

func (m *mass) add(o mass) { m.air, m.fuel, m.burned = m.air+o.air, m.fuel+o.fuel, m.burned+o.burned }

// kelvinOfEnthalpy inverts the enthalpy of a mass, J.
func (p *props) kelvinOfEnthalpy(m *mass, enthalpy, guess float64) float64 {
	t := guess
	for range 4 {
		th := p.thermal(m, t)
		by := (enthalpy - th.energy - th.mr*t) / (th.slope + th.mr)
		t = math.Max(coldestK, math.Min(hottestK-1, t+by))
		if math.Abs(by) < 1e-3 {
			break
		}
	}
	return t
}

// gasRT is R T of a mass of an enthalpy.
func (p *props) gasRT(m *mass, enthalpy, guess float64) float64 {
	t := p.kelvinOfEnthalpy(m, enthalpy, guess)
	return p.thermal(m, t).mr * t / m.kg()
}
