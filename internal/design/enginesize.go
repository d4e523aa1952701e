package design

import (
	"math"

	"fettle/internal/diag"
	"fettle/internal/figure"
)

// leastRodRatio is the shortest rod over the crank throw that an engine is
// computed with. mostCoverFrac is what all valves' heads cover of the bore's area at
// most: four or five equal circles cover 0.69 of the one they are packed into (dense
// packings of congruent circles, Graham and others, Discrete Mathematics 181, 1998, from
// memory), and valves that lean by 25° look narrower by its cosine.
const (
	leastRodRatio = 1.2
	mostCoverFrac = 0.76
)

// mostValveFrac is a valve's head over the bore at most, where one, two or three stand
// on a side: two equal circles side by side in a circle have half of it each, three
// 1/(1 + 2/√3).
var mostValveFrac = [...]float64{0.65, 0.5, 0.464}

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
	return append(ds, d.valvesFit()...)
}

// valvesFit holds the valves' heads against the bore, side by side and together.
func (d *Design) valvesFit() (ds []diag.Diagnostic) {
	e := &d.File.Engine
	cover, worst := 0.0, (*figure.Input)(nil)
	for _, v := range []struct {
		name  string
		in    *figure.Input
		count int
	}{{"intake", e.IntakeValveM, e.IntakeValves}, {"exhaust", e.ExhaustValveM, min(2, e.IntakeValves)}} {
		if !known(v.in) || v.count == 0 {
			continue
		}
		cover += float64(v.count) * v.in.SI * v.in.SI / (e.BoreM.SI * e.BoreM.SI)
		if worst == nil || worst.Assumed() && !v.in.Assumed() {
			worst = v.in
		}
		head, most := v.in.SI/e.BoreM.SI, mostValveFrac[min(v.count, len(mostValveFrac))-1]
		if head > most {
			ds = append(ds, diag.Errorf(v.in.Pos, "valves-large", "%d %s valves of %s do not fit into bore %s: each is %.2f of it, %.2f is the most",
				v.count, v.name, written(v.in), written(e.BoreM), head, most).
				WithRelated(e.BoreM.Pos, "the bore").WithHint("measure across the valve's head"))
		}
	}
	if len(ds) == 0 && cover > mostCoverFrac {
		ds = append(ds, diag.Errorf(worst.Pos, "valves-large", "%d intake valves of %s and %d exhaust valves of %s do not fit into bore %s together: their heads cover %.2f of it, %.2f is the most",
			e.IntakeValves, written(e.IntakeValveM), min(2, e.IntakeValves), written(e.ExhaustValveM), written(e.BoreM), cover, mostCoverFrac).
			WithRelated(e.BoreM.Pos, "the bore").WithHint("measure across the valves' heads"))
	}
	return ds
}
