package enginemap

import (
	"context"
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/cycle"
	"fettle/internal/quantity"
	"fettle/internal/table"
)

// Sample computes volumetric efficiency and the tables' spark of an engine at a
// few speeds and pressures, with the cams where another's tables have them: what
// a small change of its inputs does to it. Gas is its fuel's, nil to make it. A
// place where nothing burns or settles is NaN in both.
func Sample(ctx context.Context, in breathing.Input, g *cycle.Gas, cams *breathing.Response, speedRadPerS, manifoldPa []float64) (volEff, spark table.Grid, err error) {
	in.SpeedRadPerS, in.ManifoldPa = speedRadPerS, manifoldPa
	r, err := breathing.Blank(in, breathing.ByCycle)
	if err != nil {
		return volEff, spark, err
	}
	s := &solver{in: &in, r: r}
	if err := s.models(g); err != nil {
		return volEff, spark, err
	}
	e := s.m.Engine()
	err = s.each(ctx, len(r.TorqueNm.Z), func(k int) error {
		speed, pa := s.place(k)
		op := operating(&in, speed, pa)
		intake, _ := cams.IntakeRad.Clamped(speed, pa) // the axes may reach a little past the tables
		exhaust, _ := cams.ExhaustRad.Clamped(speed, pa)
		op.IntakeAdvanceRad, op.ExhaustRetardRad = math.Min(intake, e.Intake.PhaserRad), math.Min(exhaust, e.Exhaust.PhaserRad)
		m := s.m
		if s.cranking(k) {
			m, op.ColdWalls = s.slow, true
		}
		p, ended, err := m.Point(op)
		switch {
		case err != nil && !cycle.DoesNotBurn(err):
			return fmt.Errorf("at %s and %s: %w", quantity.Format(speed, "rpm", 0), quantity.Format(pa, "kPa", 0), err)
		case err != nil || !ended.OK:
			r.VolEffFrac.Z[k], r.SparkRad.Z[k] = math.NaN(), math.NaN()
		default:
			r.VolEffFrac.Z[k] = p.VolEffFrac
			r.SparkRad.Z[k] = tableSpark(p.BestRad, p.KnockRad, s.cranking(k), s.boosted(k))
		}
		return nil
	})
	return r.VolEffFrac, r.SparkRad, err
}
