// Package cranking computes the first second of a start as a transient: the
// starter's inrush, the battery that polarises, the crankshaft that runs up
// against cold oil and compression, and the voltage that each device is left
// with meanwhile.
//
// Conventions: SI; time begins when the starter's contact closes; the crankshaft
// begins at rest, half a firing interval before a top dead centre, where
// compression and expansion balance. The network of wires and loads answers at
// once: its own inductances are a thousandth of the starter's. Start reading at
// [Run], then [Course].
package cranking

import (
	"fmt"
	"math"

	"fettle/internal/crank"
	"fettle/internal/dcnet"
	"fettle/internal/figure"
	"fettle/internal/starter"
)

// Circuit is the network that battery and starter are part of, set for cranking.
type Circuit struct {
	Net      *dcnet.Network
	Switches dcnet.Switches
	Battery  dcnet.ElementID
	Starter  dcnet.ElementID
	Watch    []dcnet.ElementID // loads whose voltage is recorded
}

// Battery is a battery that polarises: a rest voltage behind a resistance, and
// two more resistances that come with time.
type Battery struct {
	RestV, AtOnceOhm, FastOhm, FastS, SlowOhm, SlowS float64
}

// Machine is a starter and the engine it turns.
type Machine struct {
	Motor       starter.Motor
	InductanceH float64
	GearRatio   float64
	InertiaKgM2 float64 // of all that turns, at the crankshaft
	Engine      crank.Geometry
	// LoadNm is the engine's mean resistance at a speed, compression's losses
	// included; what compression takes and gives back is reckoned here.
	LoadNm              func(speedRadPerS float64) float64
	ShutRad             float64 // from the intake valve's closing to top dead centre
	AmbientPa, ChargePa float64 // around the crankcase; in the cylinder as compression begins
}

// Check tells whether a machine can be computed with.
func (m Machine) Check() error {
	if err := m.Motor.Check(); err != nil {
		return err
	}
	if err := m.Engine.Check(); err != nil {
		return err
	}
	for _, v := range []struct {
		what        string
		x, from, to float64
		unit        string
		shownPerSI  float64
	}{
		{"starter inductance", m.InductanceH, 5e-6, 2e-3, "µH", 1e6},
		{"starter gear ratio", m.GearRatio, 5, 100, "", 1},
		{"cranking inertia", m.InertiaKgM2, 0.01, 50, "kg·m²", 1},
		{"intake closing before top dead centre", m.ShutRad, 1, math.Pi, "°", 180 / math.Pi},
		{"ambient pressure", m.AmbientPa, 5e4, 1.1e5, "kPa", 1e-3},
		{"charge pressure", m.ChargePa, 3e4, 1.1e5, "kPa", 1e-3},
	} {
		if !(v.x >= v.from && v.x <= v.to) {
			return fmt.Errorf("%s %.4g %s out of range %.4g … %.4g %s", v.what, v.x*v.shownPerSI, v.unit, v.from*v.shownPerSI, v.to*v.shownPerSI, v.unit)
		}
	}
	return nil
}

// Course is what happens, over time.
type Course struct {
	TimeS        []float64
	StarterV     []float64
	StarterA     []float64
	BatteryA     []float64
	SpeedRadPerS []float64
	// WatchV has a course for each load of [Circuit.Watch].
	WatchV [][]float64
}

const (
	mostStepS = 1e-3
	gearFrac  = 0.90 // pinion to ring gear, as in [starter.Crank]
	mostForS  = 10
)

// Run computes the first forS seconds of a start.
//
//	L dI/dt = U − U_b − I·R − Φ(I)·i·ω,  J dω/dt = i·η·(Φ(I)·I − M_l) − M_load(ω) − M_gas(θ),  dθ/dt = ω
//	dU₁/dt = (R₁·I_bat − U₁)/τ₁,  dU₂/dt = (R₂·I_bat − U₂)/τ₂
//
// where U and I_bat are what the network gives for the starter's current I and
// the battery's inner voltage U₀ − U₁ − U₂, i is ring gear over pinion,
// η = 0.90 the mesh's efficiency, M_gas as in [CompressionNm], U₁ and U₂ the
// polarisation. The network is solved at a grid of currents and inner voltages
// and interpolated between; the equations are stepped by the classical
// Runge–Kutta method. The crankshaft does not turn back.
//
// Valid: a machine that passes its Check, 0 < forS ≤ 10 s, a battery with rest
// voltage and resistances above 0. The pinion has engaged and the solenoid's
// pull-in winding is shorted; the pinion's free wheel is taken as locked, which
// understates how far the speed swings; no charge leaks past the rings, so that
// whether a slow crankshaft stops against a compression is not judged; what the coils, pump and injectors draw
// is what they draw in steady cranking.
// Accuracy: 0.1 % of the equations (held against ngspice within 1 %); of the
// vehicle that of the motor, the battery and the inertia: the lowest voltage
// ± 0.5 V, its time ± 30 %.
// Source: equations of the direct-current machine and Newton's law; polarisation
// by battery.AfterOhm; compression by Heywood, Internal Combustion Engine
// Fundamentals, 1st ed. 1988, section 4.2 (polytropic).
// Errors: none; what is out of range, or a network without an answer, is told in
// the [figure.Ended], and the course is empty.
func Run(c Circuit, b Battery, m Machine, forS float64) (Course, figure.Ended) {
	if err := m.Check(); err != nil {
		return Course{}, figure.Ended{Why: err.Error()}
	}
	if err := b.check(); err != nil {
		return Course{}, figure.Ended{Why: err.Error()}
	}
	if !(forS > 0 && forS <= mostForS) {
		return Course{}, figure.Ended{Why: fmt.Sprintf("cranking time %.4g s out of range 0 … %d s", forS, mostForS)}
	}
	net, ended := newGrid(c, b, m)
	if !ended.OK {
		return Course{}, ended
	}
	r := runner{net: net, b: b, m: m, gas: newGas(m)}
	out := r.run(forS)
	for _, x := range [][]float64{out.StarterA, out.SpeedRadPerS} {
		if last := x[len(x)-1]; math.IsNaN(last) || math.IsInf(last, 0) {
			return Course{}, figure.Ended{Steps: len(x), Residual: 1, Why: "the steps of the cranking transient ran away"}
		}
	}
	return out, figure.Ended{OK: true, Steps: len(out.TimeS)}
}

func (b Battery) check() error {
	for _, v := range []struct {
		what string
		x    float64
	}{
		{"rest voltage V", b.RestV},
		{"resistance Ω", b.AtOnceOhm},
		{"fast resistance Ω", b.FastOhm},
		{"fast time s", b.FastS},
		{"slow resistance Ω", b.SlowOhm},
		{"slow time s", b.SlowS},
	} {
		if !(v.x > 0) || math.IsInf(v.x, 1) {
			return fmt.Errorf("battery %s %.4g out of range, must be above 0", v.what, v.x)
		}
	}
	return nil
}

// The state of the transient.
const (
	current = iota
	speed
	angle
	fast
	slow
	states
)

type runner struct {
	net *grid
	b   Battery
	m   Machine
	gas *gas
}

func (r *runner) run(forS float64) Course {
	step := min(mostStepS, r.b.FastS/4, r.m.InductanceH/(r.m.Motor.Ohm+r.net.sourceOhm)/4)
	n := int(math.Ceil(forS/step)) + 1
	step = forS / float64(n-1)
	out := newCourse(n, len(r.net.watch))
	_, idleA := r.net.at(r.b.RestV, 0)
	x := [states]float64{fast: r.b.FastOhm * idleA, slow: r.b.SlowOhm * idleA}
	for k := range n {
		r.record(&out, k, float64(k)*step, x)
		x = r.step(x, step)
	}
	return out
}

func newCourse(n, watched int) Course {
	all := make([]float64, n*(5+watched))
	take := func() []float64 {
		part := all[:n:n]
		all = all[n:]
		return part
	}
	c := Course{TimeS: take(), StarterV: take(), StarterA: take(), BatteryA: take(), SpeedRadPerS: take()}
	for range watched {
		c.WatchV = append(c.WatchV, take())
	}
	return c
}

func (r *runner) record(c *Course, k int, timeS float64, x [states]float64) {
	inner := r.b.RestV - x[fast] - x[slow]
	v, a := r.net.at(inner, x[current])
	c.TimeS[k], c.StarterV[k], c.StarterA[k], c.BatteryA[k], c.SpeedRadPerS[k] = timeS, v, x[current], a, x[speed]
	for w := range c.WatchV {
		c.WatchV[w][k] = r.net.watchV(w, inner, x[current])
	}
}

// step is one of Runge and Kutta.
func (r *runner) step(x [states]float64, h float64) [states]float64 {
	k1 := r.rates(x)
	k2 := r.rates(along(x, k1, h/2))
	k3 := r.rates(along(x, k2, h/2))
	k4 := r.rates(along(x, k3, h))
	for i := range x {
		x[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	x[current], x[speed] = max(0, x[current]), max(0, x[speed])
	return x
}

func along(x, k [states]float64, h float64) [states]float64 {
	for i := range x {
		x[i] += h * k[i]
	}
	return x
}

func (r *runner) rates(x [states]float64) (d [states]float64) {
	m := &r.m
	i, w := max(0, x[current]), max(0, x[speed])
	volts, batteryA := r.net.at(r.b.RestV-x[fast]-x[slow], i)
	d[current] = (volts - m.Motor.BrushV - i*m.Motor.Ohm - m.Motor.FluxAtVS(i)*m.GearRatio*w) / m.InductanceH
	if i == 0 {
		d[current] = max(0, d[current])
	}
	net := m.GearRatio*gearFrac*m.Motor.TorqueNm(i) - m.LoadNm(w) - r.gas.nm(x[angle])
	d[speed] = net / m.InertiaKgM2
	if w == 0 {
		d[speed] = max(0, d[speed])
	}
	d[angle] = w
	d[fast] = (r.b.FastOhm*batteryA - x[fast]) / r.b.FastS
	d[slow] = (r.b.SlowOhm*batteryA - x[slow]) / r.b.SlowS
	return d
}
