package dcnet

import (
	"fmt"
	"math"
)

// linear is an element whose current is g·U + i0.
type linear struct {
	a, b, slot int32
	id         int32
	g, i0      float64
}

// bend is an element whose current is not, on the stretch it is taken to be on.
type bend struct {
	a, b, slot int32
	id, br     int32
	e          *element
	lo, hi     float64 // ends of the stretch
	tiny       float64 // slope it is given where it has none, in the matrix only
	leak       float64 // slope it is given while it counts as off; 0: never off
	i, g       float64 // at the present voltage
	inMatrix   float64 // slope that was factored
}

// on is the current and slope at a voltage, on the given stretch.
func (e *element) on(br int32, u float64) (i, g float64) {
	if e.kind != alternator {
		return e.law.on(br, u)
	}
	switch br {
	case 0:
		return -e.maxA, 0
	case 1:
		return (u - e.emfV) / e.ohm, 1 / e.ohm
	}
	return 0, 0
}

func (e *element) branch(u float64) int32 {
	switch {
	case e.kind != alternator:
		return e.law.branch(u)
	case u >= e.emfV:
		return 2
	case u >= e.emfV-e.maxA*e.ohm:
		return 1
	}
	return 0
}

func (e *element) span(br int32) (lo, hi float64) {
	if e.kind != alternator {
		return e.law.span(br)
	}
	limit := e.emfV - e.maxA*e.ohm
	switch br {
	case 0:
		return math.Inf(-1), limit
	case 1:
		return limit, e.emfV
	}
	return e.emfV, math.Inf(1)
}

// branches is how many stretches there are.
func (e *element) branches() int {
	switch {
	case e.kind == alternator:
		return 3
	case e.law.kind == lawCurve:
		return len(e.law.v) - 1
	case e.law.kind == lawCurrent, e.law.kind == lawPower:
		return 2
	}
	return 1
}

// sheer reports a stretch without a drop-out below it.
func (b *bend) sheer() bool {
	k := b.e.law.kind
	return b.e.kind == load && (k == lawCurrent || k == lawPower) && b.e.law.dropV == 0
}

func (b *bend) set(br int32) {
	b.br = br
	b.lo, b.hi = b.e.span(br)
}

// folded reports a constant power below its drop-out.
func (b *bend) folded() bool {
	return b.leak != 0 && b.br == 0 && b.e.law.kind == lawPower
}

func newBend(e *element, at end, id int) bend {
	b := bend{a: at.a, b: at.b, slot: at.slot, id: int32(id), e: e, inMatrix: math.NaN()}
	l := &e.law
	switch {
	case e.kind == alternator:
		b.tiny = 1e-9 / e.ohm
	case l.kind == lawCurve:
		last := len(l.v) - 1
		b.tiny = 1e-9 * max((l.i[last]-l.i[0])/(l.v[last]-l.v[0]), 1e-9)
	case l.kind == lawOther:
		b.tiny = 1e-12
	default: // current and power, per volt and per volt squared
		b.tiny, b.leak = 1e-9*l.k, 1e-6*l.k
	}
	return b
}

// starved is the message for a load that the network can't feed.
func (b *bend) starved() string {
	unit := "A"
	if b.e.law.kind == lawPower {
		unit = "W"
	}
	return fmt.Sprintf("%v can't be fed: it has no drop-out and its %g %s are more than the network can bring it (voltage collapse)",
		b.e, b.e.law.k, unit)
}
