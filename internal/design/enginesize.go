package design

import (
	"math"

	"fettle/internal/diag"
	"fettle/internal/figure"
)

// leastRodRatio is the shortest rod over the crank throw that an engine is
// computed with; mostValveFrac is a valve's head, mostValvesFrac what those of one
// side cover, at most, of the bore and its square.
const (
	leastRodRatio  = 1.2
	mostValveFrac  = 0.65
	mostValvesFrac = 0.75
)

// How early the intake may close and open with its phaser at the end, before
// bottom and top dead centre.
const (
	earliestCloseRad = 1.0
	earliestOpenRad  = 1.7
)

// phaserReach holds the intake's events at the end of its phaser's travel.
func (d *Design) phaserReach() (ds []diag.Diagnostic) {
	e := &d.File.Engine
	if !known(e.PhaserRad) || e.PhaserRad.SI == 0 {
		return nil
	}
	for _, v := range []struct {
		what, centre string
		at           *figure.Input
		early, most  float64
	}{
		{"closes", "bottom", e.IntakeCloseRad, -1, earliestCloseRad},
		{"opens", "top", e.IntakeOpenRad, 1, earliestOpenRad},
	} {
		if !known(v.at) {
			continue
		}
		if early := e.PhaserRad.SI + v.early*v.at.SI; early > v.most {
			ds = append(ds, diag.Errorf(e.PhaserRad.Pos, "phaser-wide", "with the intake phaser %s at its end the intake %s %.0f° before %s dead centre; %.0f° are the most",
				written(e.PhaserRad), v.what, early*180/math.Pi, v.centre, v.most*180/math.Pi).
				WithRelated(v.at.Pos, "where it %s, parked", v.what).WithHint("state the travel in degrees of the crankshaft, and the events with the phaser parked"))
		}
	}
	return ds
}

// engineSizes holds rod and valves against stroke and bore.
func (d *Design) engineSizes() (ds []diag.Diagnostic) {
	e := &d.File.Engine
	if known(e.RodM) && known(e.StrokeM) {
		throw := e.StrokeM.SI / 2
		switch {
		case e.RodM.SI <= throw:
			ds = append(ds, diag.Errorf(e.RodM.Pos, "rod-short", "rod %s is no longer than the crank throw, half of stroke %s", written(e.RodM), written(e.StrokeM)).
				WithRelated(e.StrokeM.Pos, "the stroke").WithHint("measure the rod between its eyes"))
		case e.RodM.SI < leastRodRatio*throw:
			ds = append(ds, diag.Errorf(e.RodM.Pos, "rod-short", "rod %s is %.2f of the crank throw, half of stroke %s; %.1f is the least", written(e.RodM), e.RodM.SI/throw, written(e.StrokeM), leastRodRatio).
				WithRelated(e.StrokeM.Pos, "the stroke").WithHint("measure the rod between its eyes"))
		}
	}
	ds = append(ds, d.phaserReach()...)
	if !known(e.BoreM) {
		return ds
	}
	for _, v := range []struct {
		name  string
		in    *figure.Input
		count int
	}{{"intake", e.IntakeValveM, e.IntakeValves}, {"exhaust", e.ExhaustValveM, min(2, e.IntakeValves)}} {
		if !known(v.in) || v.count == 0 {
			continue
		}
		share, head := float64(v.count)*v.in.SI*v.in.SI/(e.BoreM.SI*e.BoreM.SI), v.in.SI/e.BoreM.SI
		if share <= mostValvesFrac && head <= mostValveFrac {
			continue
		}
		ds = append(ds, diag.Errorf(v.in.Pos, "valves-large", "%d %s valves of %s do not fit into bore %s: each is %.2f of it and they cover %.2f; %.2f and %.2f are the most",
			v.count, v.name, written(v.in), written(e.BoreM), head, share, mostValveFrac, mostValvesFrac).
			WithRelated(e.BoreM.Pos, "the bore").WithHint("measure across the valve's head"))
	}
	return ds
}
