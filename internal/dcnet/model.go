package dcnet

import (
	"fmt"
	"math"
	"sort"
)

// Model is what a load draws at a voltage. The models of this package are
// solved bend by bend; another one must be smooth, rise or fall without a jump
// and draw nothing at 0 V.
type Model interface {
	// At returns the current at a voltage across the load, and the slope of
	// that current against voltage.
	At(acrossV float64) (currentA, slopeSiemens float64)
}

// Resistance draws in proportion to the voltage: lamps taken warm, heaters,
// relay coils.
type Resistance struct{ Ohm float64 }

// Current draws a constant current; below DropOutV it falls to zero in
// proportion. With DropOutV 0 it has no drop-out: where it can't be fed the
// network has no answer.
type Current struct{ CurrentA, DropOutV float64 }

// Power draws a constant power: controllers and pumps with converters. Below
// DropOutV it is the resistance that meets the curve there, so that a starved
// branch has an answer. With DropOutV 0 it has no drop-out.
type Power struct{ PowerW, DropOutV float64 }

// Average draws its model's current for a fraction of the time: pulsed loads,
// by their mean current.
type Average struct {
	Model
	DutyFrac float64
}

// Curve draws by points of a measured curve joined by straight lines: motors.
// Voltages rise, currents don't fall, and nothing is drawn at 0 V. A curve that
// begins above 0 V is joined to the origin; above its last point it goes on
// with the last slope and the solution says so in Beyond.
type Curve struct{ VoltageV, CurrentA []float64 }

// At returns the current of a resistance.
//
//	I = U/R
//
// Valid: Ohm within 1e-7 … 1e10 Ω; the network refuses others.
// Accuracy: exact.
// Source: Ohm's law.
// Errors: none.
func (m Resistance) At(acrossV float64) (currentA, slopeSiemens float64) { return modelAt(m, acrossV) }

// At returns the current of a constant-current load.
//
//	I = I₀           where U ≥ U₀
//	I = I₀ · U/U₀    where U < U₀
//
// where I₀ = CurrentA and U₀ = DropOutV.
//
// Valid: CurrentA 0 … 1e5 A, DropOutV 0 or 1e-3 … 1e3 V; the network
// refuses others.
// Accuracy: exact; at U₀ the slope is that above it.
// Source: definition.
// Errors: none.
func (m Current) At(acrossV float64) (currentA, slopeSiemens float64) { return modelAt(m, acrossV) }

// At returns the current of a constant-power load.
//
//	I = P/U          where U ≥ U₀
//	I = P · U/U₀²    where U < U₀
//
// where P = PowerW and U₀ = DropOutV.
//
// Valid: PowerW 0 … 1e6 W, DropOutV 0 or 1e-3 … 1e3 V; the network
// refuses others.
// Accuracy: exact; at U₀ the slope is that above it.
// Source: definition.
// Errors: none.
func (m Power) At(acrossV float64) (currentA, slopeSiemens float64) { return modelAt(m, acrossV) }

// At returns the mean current of a load that is on for a fraction of the time.
//
//	I = d · I₁(U)
//
// where d = DutyFrac and I₁ is the current of the model while it is on.
//
// Valid: DutyFrac 0 … 1; the network refuses others. The mean is what a fuse or
// battery sees; the ripple is not computed.
// Accuracy: exact for a supply that is stiff over one period.
// Source: definition of the mean.
// Errors: none.
func (m Average) At(acrossV float64) (currentA, slopeSiemens float64) { return modelAt(m, acrossV) }

// At returns the current of a measured curve between its points.
//
//	I = Iₖ + (Iₖ₊₁ − Iₖ) · (U − Uₖ)/(Uₖ₊₁ − Uₖ)
//
// Valid: between the first and the last point; outside as the type says.
// Accuracy: exact at the points.
// Source: linear interpolation.
// Errors: none.
func (m Curve) At(acrossV float64) (currentA, slopeSiemens float64) { return modelAt(m, acrossV) }

func modelAt(m Model, v float64) (i, g float64) {
	l, why := lawOf(m)
	if why != "" {
		return 0, 0
	}
	return l.on(l.branch(v), v)
}

type lawKind uint8

const (
	lawNone lawKind = iota // draws nothing
	lawOhm
	lawCurrent
	lawPower
	lawCurve
	lawOther
)

// law is a model ready to be solved, the duty multiplied in. Its branches are
// the stretches between bends, numbered upwards with the voltage.
type law struct {
	kind  lawKind
	k     float64 // siemens, amperes or watts
	dropV float64
	v, i  []float64 // points of a curve
	model Model
}

// floorV stands for zero where a constant power without drop-out would divide
// by it.
const floorV = 1e-6

// nothing, in siemens, amperes or watts, is less than any solve resolves: a
// load or alternator of less is left out.
const nothing = 1e-15

func lawOf(m Model) (l law, why string) {
	duty := 1.0
	for {
		a, ok := m.(Average)
		if !ok {
			break
		}
		if why := check("duty", a.DutyFrac, 0, 1, "of the time"); why != "" {
			return law{}, why
		}
		duty *= a.DutyFrac
		m = a.Model
	}
	switch m := m.(type) {
	case nil:
		return law{}, "has no model"
	case Resistance:
		l, why = law{kind: lawOhm, k: duty / m.Ohm}, checkOhm("resistance", m.Ohm)
	case Current:
		l = law{kind: lawCurrent, k: duty * m.CurrentA, dropV: m.DropOutV}
		why = firstOf(check("current", m.CurrentA, 0, 1e5, "A"), checkOrNone("drop-out", m.DropOutV, 1e-3, 1e3, "V"))
	case Power:
		l = law{kind: lawPower, k: duty * m.PowerW, dropV: m.DropOutV}
		why = firstOf(check("power", m.PowerW, 0, 1e6, "W"), checkOrNone("drop-out", m.DropOutV, 1e-3, 1e3, "V"))
	case Curve:
		l, why = curveLaw(m, duty)
	default:
		l = law{kind: lawOther, k: duty, model: m}
	}
	if why != "" || l.k < nothing {
		l = law{}
	}
	return l, why
}

func firstOf(whys ...string) string {
	for _, w := range whys {
		if w != "" {
			return w
		}
	}
	return ""
}

func curveLaw(m Curve, duty float64) (law, string) {
	if len(m.VoltageV) != len(m.CurrentA) || len(m.VoltageV) == 0 {
		return law{}, fmt.Sprintf("curve has %d voltages and %d currents, allowed equally many, at least 1", len(m.VoltageV), len(m.CurrentA))
	}
	l := law{kind: lawCurve, k: duty}
	if m.VoltageV[0] > 0 {
		l.v, l.i = append(l.v, 0), append(l.i, 0)
	}
	for k, v := range m.VoltageV {
		l.v, l.i = append(l.v, v), append(l.i, duty*m.CurrentA[k])
	}
	for k := range l.v {
		if math.IsNaN(l.v[k]) || math.IsNaN(l.i[k]) || math.IsInf(l.v[k], 0) || math.IsInf(l.i[k], 0) {
			return law{}, fmt.Sprintf("curve has %g V, %g A, allowed finite numbers", l.v[k], l.i[k])
		}
		if k > 0 && (l.v[k] <= l.v[k-1] || l.i[k] < l.i[k-1]) {
			return law{}, fmt.Sprintf("curve goes from %g V, %g A to %g V, %g A, allowed rising voltage and current that does not fall",
				l.v[k-1], l.i[k-1], l.v[k], l.i[k])
		}
	}
	if len(l.v) < 2 {
		return law{}, "curve has one point, allowed at least two, or one above 0 V"
	}
	if i, _ := l.on(l.branch(0), 0); math.Abs(i) > 1e-12*(math.Abs(l.i[0])+math.Abs(l.i[len(l.i)-1])) {
		return law{}, fmt.Sprintf("curve draws %g A at 0 V, allowed 0 A", i)
	}
	return l, ""
}

// branch finds the stretch that a voltage lies on.
func (l *law) branch(u float64) int32 {
	switch l.kind {
	case lawCurrent, lawPower:
		if u >= l.dropV || l.dropV == 0 {
			return 1
		}
	case lawCurve:
		k := sort.SearchFloat64s(l.v, u) - 1
		return int32(min(max(k, 0), len(l.v)-2))
	}
	return 0
}

// span is the stretch's ends.
func (l *law) span(br int32) (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	switch l.kind {
	case lawCurrent, lawPower:
		switch {
		case br == 0:
			hi = l.dropV
		case l.dropV > 0:
			lo = l.dropV
		case l.kind == lawPower:
			lo = floorV
		default:
			lo = 0
		}
	case lawCurve:
		if br > 0 {
			lo = l.v[br]
		}
		if int(br) < len(l.v)-2 {
			hi = l.v[br+1]
		}
	}
	return lo, hi
}

// on is the current and slope at a voltage, taken on the given stretch.
func (l *law) on(br int32, u float64) (i, g float64) {
	switch l.kind {
	case lawOhm:
		return l.k * u, l.k
	case lawCurrent:
		if br == 1 {
			return l.k, 0
		}
		g = l.k / l.dropV
		return g * u, g
	case lawPower:
		if br == 1 {
			i = l.k / u
			return i, -i / u
		}
		g = l.k / (l.dropV * l.dropV)
		return g * u, g
	case lawCurve:
		g = (l.i[br+1] - l.i[br]) / (l.v[br+1] - l.v[br])
		return l.i[br] + g*(u-l.v[br]), g
	case lawOther:
		i, g = l.model.At(u)
		return l.k * i, l.k * g
	}
	return 0, 0
}
