package loom

import (
	"math"

	"fettle/internal/catalogue"
	"fettle/internal/fuse"
	"fettle/internal/wire"
)

// holding computes what conductors stand, each question once: a loom asks the
// same of many wires.
type holding struct {
	ampacity map[ampKey]float64
	damage   map[damageKey]*wire.Damage
	plane    map[planeKey]verdict
}

type ampKey struct {
	c      wire.Conductor
	p      wire.Place
	limitK float64
}

type damageKey struct {
	ampKey
	startK, shortK float64
}

type planeKey struct {
	damageKey
	ratingA, shortA float64
}

// verdict is how a fuse and a wire get on over the time–current plane.
type verdict struct {
	ok    bool
	failA float64
}

func newHolding() holding {
	return holding{map[ampKey]float64{}, map[damageKey]*wire.Damage{}, map[planeKey]verdict{}}
}

// ampacityA is what a conductor carries for ever in a place; 0 when the place, or
// the rest of the bundle, is hotter than the insulation stands.
func (h *holding) ampacityA(k ampKey) float64 {
	if a, ok := h.ampacity[k]; ok {
		return a
	}
	a, err := k.p.AmpacityA(k.c, k.limitK)
	if err != nil {
		a = 0
	}
	h.ampacity[k] = a
	return a
}

// startStepK is what the temperature at which a fault begins is rounded up to.
const startStepK = 5

// startK is the copper's temperature under a load, rounded up; the insulation's
// limit at most.
func startK(k ampKey, loadA float64) float64 {
	t, err := k.p.TempK(k.c, loadA)
	if err != nil {
		return k.limitK
	}
	return math.Min(k.limitK, startStepK*math.Ceil(t/startStepK))
}

// damageOf is nil when the wire is too hot before any fault.
func (h *holding) damageOf(k damageKey) *wire.Damage {
	if d, ok := h.damage[k]; ok {
		return d
	}
	o := wire.Overload{Wire: k.c, Place: k.p, StartK: k.startK, SteadyK: k.limitK, OverK: k.limitK + overK, ShortK: k.shortK}
	d, err := o.Damage()
	h.damage[k] = &d
	if err != nil {
		h.damage[k] = nil
	}
	return h.damage[k]
}

// overPlane holds a fuse against a wire over the whole plane.
func (h *holding) overPlane(k planeKey) verdict {
	if v, ok := h.plane[k]; ok {
		return v
	}
	var v verdict
	if d := h.damageOf(k.damageKey); d != nil {
		var err error
		if v.failA, v.ok, err = fuse.Of(k.ratingA).HoldsWire(k.ratingA, d, k.shortA); err != nil {
			v.ok = false
		}
	}
	h.plane[k] = v
	return v
}

// ask is a conductor with its insulation in a place, as a key.
func ask(c *catalogue.Cable, in *catalogue.Insulation, l *Lie) ampKey {
	return ampKey{conductor(c), l.Place(), in.LimitK.SI}
}

// worst is the lie in which a conductor carries least.
func (h *holding) worst(c *catalogue.Cable, in *catalogue.Insulation, lies []Lie) (at *Lie, ampacityA float64) {
	for i := range lies {
		if a := h.ampacityA(ask(c, in, &lies[i])); at == nil || a < ampacityA {
			at, ampacityA = &lies[i], a
		}
	}
	return at, ampacityA
}
