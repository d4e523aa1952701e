package dcnettest

import (
	"fmt"
	"math"
	"strings"

	"fettle/internal/dcnet"
)

// StartBattery is a battery that polarises, for transients.
type StartBattery struct {
	RestV, AtOnceOhm, FastOhm, FastS, SlowOhm, SlowS float64
	BeganA                                           float64 // current before the start
}

// Polarising adds a battery that polarises; the network gets its inner resistance
// and rest voltage, the simulator the whole circuit.
func (t *Twin) Polarising(plus, minus dcnet.NodeID, b StartBattery) dcnet.ElementID {
	fmt.Fprintf(&t.cards, "Vrest rest %s DC %.17g\n", spice(minus), b.RestV)
	fmt.Fprintf(&t.cards, "Rfast rest fast %.17g\nCfast rest fast %.17g IC=%.17g\n", b.FastOhm, b.FastS/b.FastOhm, b.FastOhm*b.BeganA)
	fmt.Fprintf(&t.cards, "Rslow fast slow %.17g\nCslow fast slow %.17g IC=%.17g\n", b.SlowOhm, b.SlowS/b.SlowOhm, b.SlowOhm*b.BeganA)
	fmt.Fprintf(&t.cards, "Ronce slow %s %.17g\n", spice(plus), b.AtOnceOhm)
	return t.done(t.Net.Source("battery", plus, minus, b.RestV, b.AtOnceOhm))
}

// StartMachine is a starter with its engine, as plain numbers.
type StartMachine struct {
	Ohm, InductanceH, BrushV, FluxVS, SaturationA, LossNm float64
	GearRatio, MeshFrac, InertiaKgM2                      float64
	StillNm, NmPerRadPerS                                 float64 // mean resistance: at rest, and its rise with speed
	BoreM, StrokeM, RodM, CompressionRatio                float64
	Cylinders                                             int
	AmbientPa, ChargePa, ExponentRatio, ShutRad           float64
}

// Cranked adds a starter that turns an engine. Speed is the voltage of node
// "speed", the crankshaft's angle that of "angle", the current that of Lstart.
func (t *Twin) Cranked(a, b dcnet.NodeID, m StartMachine) dcnet.ElementID {
	c := &t.cards
	flux := fmt.Sprintf("%.17g", m.FluxVS)
	if m.SaturationA > 0 {
		flux = fmt.Sprintf("(%.17g*I(Vstart)/(abs(I(Vstart))+%.17g))", m.FluxVS, m.SaturationA)
	}
	fmt.Fprintf(c, "Vstart %s start0 DC 0\nLstart start0 start1 %.17g IC=0\nRstart start1 start2 %.17g\n", spice(a), m.InductanceH, m.Ohm)
	fmt.Fprintf(c, "Bback start2 %s V=%.17g+%s*%.17g*V(speed)\n", spice(b), m.BrushV, flux, m.GearRatio)
	var sum strings.Builder
	for k := range m.Cylinders {
		fmt.Fprintf(&sum, "+V(gas%d)", k)
		t.cylinder(k, m)
	}
	fmt.Fprintf(c, "Bnet net 0 V=%.17g*(%s*I(Vstart)-%.17g)-%.17g-%.17g*V(speed)-(0%s)\n", m.GearRatio*m.MeshFrac, flux, m.LossNm, m.StillNm, m.NmPerRadPerS, sum.String())
	fmt.Fprintf(c, "Cspeed speed 0 %.17g IC=0\nBspeed 0 speed I=(V(speed)>0)||(V(net)>0) ? V(net) : 0\n", m.InertiaKgM2)
	fmt.Fprintf(c, "Cangle angle 0 1 IC=0\nBangle 0 angle I=max(V(speed),0)\n")
	return t.done(t.Net.Load("starter", a, b, dcnet.Current{}))
}

// cylinder writes one cylinder's torque: slider and crank, a polytropic charge,
// that of the rest angle until its exhaust opens.
func (t *Twin) cylinder(k int, m StartMachine) {
	area, throw := math.Pi/4*m.BoreM*m.BoreM, m.StrokeM/2
	clearance := area * m.StrokeM / (m.CompressionRatio - 1)
	volume := func(at string) string {
		return fmt.Sprintf("(%.17g+%.17g*(%.17g*(1-cos(%s))+%.17g-sqrt(%.17g-%.17g*sin(%s)^2)))",
			clearance, area, throw, at, m.RodM, m.RodM*m.RodM, throw*throw, at)
	}
	interval := 4 * math.Pi / float64(m.Cylinders)
	from := math.Remainder(-interval/2-float64(k)*interval, 4*math.Pi)
	at := fmt.Sprintf("V(phase%d)", k)
	fmt.Fprintf(&t.cards, "Bphase%d phase%d 0 V=V(angle)%+.17g-%.17g*floor((V(angle)%+.17g)/%.17g)\n", k, k, from, 4*math.Pi, from+2*math.Pi, 4*math.Pi)
	slope := fmt.Sprintf("(%.17g*sin(%s)*(1+%.17g*cos(%s)/sqrt(%.17g-%.17g*sin(%s)^2)))", area*throw, at, throw, at, m.RodM*m.RodM, throw*throw, at)
	charge := func(pa float64, shut string) string {
		return fmt.Sprintf("(%.17g*exp(%.17g*ln(%s/%s)))", pa, m.ExponentRatio, shut, volume(at))
	}
	full := charge(m.ChargePa, volume(fmt.Sprintf("%.17g", m.ShutRad)))
	pressure := full
	if math.Abs(from) < m.ShutRad {
		held := charge(m.AmbientPa, volume(fmt.Sprintf("(%.17g)", from)))
		pressure = fmt.Sprintf("((V(angle)<%.17g) ? %s : %s)", m.ShutRad-from, held, full)
	}
	fmt.Fprintf(&t.cards, "Bgas%d gas%d 0 V=abs(%s)<%.17g ? -(%s-%.17g)*%s : 0\n", k, k, at, m.ShutRad, pressure, m.AmbientPa, slope)
}

// Start is the network as an input file for a transient; it writes the named
// vectors every stepS to out, the first of them time.
func (t *Twin) Start(title string, dead []dcnet.NodeID, forS, stepS float64, out string, vectors ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s", title, t.cards.String())
	for _, n := range dead {
		fmt.Fprintf(&b, "Rdead%d n%d 0 1\n", int(n), int(n))
	}
	fmt.Fprintf(&b, ".options reltol=1e-5 abstol=1e-9 vntol=1e-8 method=gear\n.control\nset numdgt=12\nset wr_singlescale\n")
	fmt.Fprintf(&b, "tran %.17g %.17g 0 %.17g uic\nlinearize %s\nwrdata %s %s\nquit\n.endc\n.end\n", stepS, forS, stepS/4, strings.Join(vectors, " "), out, strings.Join(vectors, " "))
	return b.String()
}

// Name is a node's name in the simulator.
func Name(n dcnet.NodeID) string { return spice(n) }
