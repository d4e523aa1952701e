// Package enginemap fills an engine's tables over speed and manifold pressure by
// its crank-angle cycle: every cell a cycle that repeats itself, with the cams
// that the engine would hold there and a spark short of best torque and of knock.
//
// Conventions: those of breathing and cycle. Cams: most torque with the throttle
// open, least fuel for a torque below it, found at a few speeds and loads within
// what a running engine bears; towards idle's pressure they go back to the parked
// position. A charge that does not burn gives no work and is counted. Start
// reading at [Solve].
package enginemap

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"fettle/internal/breathing"
	"fettle/internal/cycle"
	"fettle/internal/figure"
	"fettle/internal/quantity"
)

const degree = math.Pi / 180

// Assumptions where an engine says nothing, as for the comparison engines of
// package cycle; each common practice.
const (
	exhaustValveRatio  = 0.86 // of the intake's head
	exhaustLiftRatio   = 0.95 // of the intake's lift
	exhaustOpenRatio   = 0.98 // of the intake's opening
	exhaustCentre      = 112 * degree
	exhaustRunner      = 0.45
	chargedRunner      = 0.15
	exhaustRunnerRatio = 0.42 // of the bore
	plenumRatio        = 1.2  // of the displacement
	collectorRatio     = 0.6
	chargedCollector   = 0.2
	twoValveBurn       = 1.3
	fullFilled         = 0.9  // of the displacement, at the speed limit
	standardDensity    = 1.16 // kg/m³
)

func or(v, otherwise float64) float64 {
	if v != 0 {
		return v
	}
	return otherwise
}

// Engine is the engine of the cycle, what is not said assumed.
func Engine(in *breathing.Input) cycle.Engine {
	c, g := &in.Cycle, in.Geometry
	opening := in.IntakeOpensRad + math.Pi + in.IntakeClosesRad
	charged := in.BoostPa > 0
	e := cycle.Engine{
		Geometry: g,
		Intake: cycle.Valve{
			Count: in.IntakeValveCount, HeadM: in.IntakeValveM, LiftM: in.IntakeLiftM,
			DurationRad: opening, CentrelineRad: opening/2 - in.IntakeOpensRad, PhaserRad: in.IntakePhaserRad,
		},
		Exhaust: cycle.Valve{
			Count: min(2, in.IntakeValveCount), HeadM: or(c.ExhaustValveM, exhaustValveRatio*in.IntakeValveM), LiftM: or(c.ExhaustLiftM, exhaustLiftRatio*in.IntakeLiftM),
			DurationRad: or(c.ExhaustOpenRad, exhaustOpenRatio*opening), CentrelineRad: or(c.ExhaustCentreRad, exhaustCentre), PhaserRad: c.ExhaustPhaserRad,
		},
		IntakeRunner:  cycle.Duct{LengthM: in.RunnerM, BoreM: in.RunnerBoreM},
		ExhaustRunner: cycle.Duct{LengthM: or(c.ExhaustRunnerM, exhaustRunner), BoreM: or(c.ExhaustRunBoreM, exhaustRunnerRatio*g.BoreM)},
		PlenumM3:      or(c.PlenumM3, plenumRatio*g.DisplacementM3()), CollectorM3: or(c.CollectorM3, collectorRatio*g.DisplacementM3()),
		ExhaustDropPa: in.ExhaustDropPa, Fuel: in.Fuel, DirectInjection: c.DirectInjection, BurnRatio: or(c.BurnRatio, 1), CoolantK: in.CoolantK,
	}
	if in.IntakeValveCount == 1 {
		e.BurnRatio = or(c.BurnRatio, twoValveBurn)
	}
	density := standardDensity
	if charged {
		e.ExhaustRunner.LengthM = or(c.ExhaustRunnerM, chargedRunner)
		e.CollectorM3 = or(c.CollectorM3, chargedCollector*g.DisplacementM3())
		e.TurbineRatio = in.TurbineRatio
		density *= 1 + in.BoostPa/in.AmbientPa
	}
	e.ExhaustDropKgPerS = fullFilled * density * g.DisplacementM3() * in.MaxRadPerS / (4 * math.Pi)
	e.ThrottleM2 = or(c.ThrottleM2, e.ExhaustDropKgPerS/math.Sqrt(2*density*math.Max(500, in.IntakeDropPa)))
	return e
}

// Progress is told how many of the cycles are done.
type Progress func(done, of int)

// solver is one engine on its way through its tables.
type solver struct {
	in    *breathing.Input
	m     *cycle.Model
	slow  *cycle.Model // below idle speed
	r     *breathing.Response
	cams  []cams
	knock []bool // cells that knock at the latest spark
	done  atomic.Int64
	total int
	tell  Progress
	mu    sync.Mutex
}

// Solve fills the tables. It uses all processors, stops when the context ends,
// and hands back no table when a cell can't be computed.
func Solve(ctx context.Context, in breathing.Input, g *cycle.Gas, tell Progress) (*breathing.Response, error) {
	r, err := breathing.Blank(in, breathing.ByCycle)
	if err != nil {
		return nil, err
	}
	s := &solver{in: &in, r: r, tell: tell, total: camSpeeds*(len(partLoads)*partSeeks+openSeeks) + len(r.TorqueNm.Z)}
	if err := s.models(g); err != nil {
		return nil, err
	}
	if err := s.seekCams(ctx); err != nil {
		return nil, err
	}
	n := len(r.TorqueNm.Z)
	misfires := make([]bool, n)
	s.knock = make([]bool, n)
	if err := s.each(ctx, n, func(k int) error {
		burns, err := s.cell(k)
		misfires[k] = !burns
		s.count(1)
		return err
	}); err != nil {
		return nil, err
	}
	if err := s.each(ctx, r.TorqueNm.Rows(), func(i int) error { return s.rise(i, misfires) }); err != nil {
		return nil, err
	}
	s.carry(misfires)
	s.knocks()
	r.Spreads()
	return r, nil
}

// models makes the engine ready, and that with a still manifold.
func (s *solver) models(g *cycle.Gas) (err error) {
	if g == nil {
		if g, err = cycle.NewGas(s.in.Fuel); err != nil {
			return err
		}
	}
	if s.m, err = cycle.NewModelOf(Engine(s.in), g); err != nil {
		return err
	}
	s.slow, err = cycle.NewModelOf(still(s.in), g)
	return err
}

// each works on all processors, and stops at the first error.
func (s *solver) each(ctx context.Context, n int, one func(k int) error) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for k := int(next.Add(1)) - 1; k < n && ctx.Err() == nil; k = int(next.Add(1)) - 1 {
				if err := one(k); err != nil {
					cancel(err)
				}
			}
		})
	}
	wg.Wait()
	return context.Cause(ctx)
}

func (s *solver) count(n int) {
	if s.tell == nil {
		s.done.Add(int64(n))
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tell(int(s.done.Add(int64(n))), s.total)
}

// knockAllowed is the knock integral that the spark is held short of.
const knockAllowed = 1.0

// operating is the state of the cycle at a place of the tables.
func operating(in *breathing.Input, speed, pa float64) cycle.Operating {
	op := cycle.Operating{
		SpeedRadPerS: speed, ManifoldPa: pa, UpstreamPa: math.Max(in.AmbientPa, pa), AmbientPa: in.AmbientPa, ChargeK: in.ChargeK,
		LambdaRatio: in.LambdaRatio(speed, pa), Spark: cycle.SparkUnderTest, MostKnockCount: knockAllowed, OilViscosityRatio: 1,
	}
	switch {
	case pa <= op.AmbientPa:
	case in.BoostPa == 0: // an engine without a charger has come down to thicker air
		op.AmbientPa = pa
	default:
		op.ChargeK, _ = breathing.ChargedK(in.ChargeK, pa/op.AmbientPa, in.CompressorFrac, in.CoolerFrac) // 0 with an error, which the cycle refuses by name
	}
	if pa > 0.99*op.UpstreamPa {
		op.UpstreamPa = pa / 0.99
	}
	return op
}

// Safe side of the spark: how far the table stands short of best torque and of
// knock, and the most of it (common practice; the knock integral is good for 3°).
// How late it may go is from memory, chosen so that usual engines find a spark
// that does not knock; those that find none are told.
const (
	shortOfBest  = 3 * degree
	shortOfKnock = 5 * degree
	mostSpark    = 45 * degree
	leastSpark   = -10 * degree
	leastBoosted = -15 * degree // above the ambient pressure
	// Below idle speed the engine starts or is about to stand: not so much that it
	// kicks back at the starter (common practice, 5 … 10°). A slow charge under
	// load has long to ignite by itself, and knocks before 5°: there the spark goes
	// as late as knock asks.
	crankMost, leastCranking = 10 * degree, -15 * degree
)

// tableSpark is what a table holds where best torque and knock were found so.
func tableSpark(bestRad, knockRad float64, cranking, boosted bool) float64 {
	start := math.Min(bestRad-shortOfBest, knockRad-shortOfKnock)
	switch {
	case cranking:
		return math.Max(leastCranking, math.Min(crankMost, start))
	case boosted:
		return math.Max(leastBoosted, math.Min(mostSpark, start))
	}
	return math.Max(leastSpark, math.Min(mostSpark, start))
}

// coolantOfWall is the share of the heat to the walls and ports that the coolant
// takes, oil and air the rest; half of the friction comes to it as well
// (Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 12.4; from memory).
const coolantOfWall, coolantOfFriction = 0.85, 0.5

// stillPlenum, in displacements, holds the manifold's pressure still below idle
// speed: there each stroke nearly empties a small plenum, and the mean that the
// table is for settles too slowly to be computed.
const stillPlenum = 8

// still is the engine with such a manifold.
func still(in *breathing.Input) cycle.Engine {
	e := Engine(in)
	e.PlenumM3 = math.Max(e.PlenumM3, stillPlenum*in.Geometry.DisplacementM3())
	return e
}

// cell computes one cell; burns is false when the charge does not.
func (s *solver) cell(k int) (burns bool, err error) {
	intake, exhaust := s.at(s.place(k))
	return s.cellAt(k, intake, exhaust)
}

// place is the speed and the manifold pressure of a cell.
func (s *solver) place(k int) (speed, pa float64) {
	g := &s.r.TorqueNm
	return g.X.At[k/g.Columns()], g.Y.At[k%g.Columns()]
}

// cellAt is cell with given cams.
func (s *solver) cellAt(k int, intake, exhaust float64) (burns bool, err error) {
	r := s.r
	speed, pa := s.place(k)
	m, op := s.m, operating(s.in, speed, pa)
	if s.cranking(k) {
		m, op.ColdWalls = s.slow, true
	}
	r.LambdaRatio.Z[k] = op.LambdaRatio
	op.IntakeAdvanceRad, op.ExhaustRetardRad = intake, exhaust
	p, ended, err := m.Point(op)
	if (err != nil || !ended.OK || p.ResidualFrac > mostResidual) && op.IntakeAdvanceRad+op.ExhaustRetardRad > 0 {
		op.IntakeAdvanceRad, op.ExhaustRetardRad = 0, 0 // the engine parks its cams where they don't bear the load
		p, ended, err = m.Point(op)
	}
	r.IntakeRad.Z[k], r.ExhaustRad.Z[k] = op.IntakeAdvanceRad, op.ExhaustRetardRad
	switch {
	case err != nil && s.weak(speed, pa) && cycle.DoesNotBurn(err):
		return false, nil
	case err == nil && !ended.OK && s.weak(speed, pa): // burns now and then
		return false, nil
	case err != nil:
		return false, fmt.Errorf("at %s and %s: %w", quantity.Format(speed, "rpm", 0), quantity.Format(pa, "kPa", 0), err)
	case !ended.OK:
		return false, unsettled(speed, pa, ended)
	}
	return true, s.put(k, &p)
}

const (
	mostResidual = 0.35
	// weakFrac of the ambient pressure: below it the charge of a slow engine is
	// mostly burned gas and may not burn.
	weakFrac = 0.5
	slowFrac = 0.8 // below idle speed, where an engine is not throttled
)

func (s *solver) weak(speed, pa float64) bool {
	frac := weakFrac
	if speed < s.in.IdleRadPerS {
		frac = slowFrac
	}
	return pa < frac*s.in.AmbientPa
}

func unsettled(speed, pa float64, e figure.Ended) error {
	return fmt.Errorf("at %s and %s: %s: %w", quantity.Format(speed, "rpm", 0), quantity.Format(pa, "kPa", 0), e.Why, ErrUnsettled)
}

// ErrUnsettled is in the error of an engine with a cell whose cycles do not repeat.
var ErrUnsettled = errors.New("the cycle does not settle")

// cranking reports whether a cell stands below idle speed.
func (s *solver) cranking(k int) bool {
	return s.r.TorqueNm.X.At[k/s.r.TorqueNm.Columns()] < s.in.IdleRadPerS
}

// boosted reports whether a cell stands above the ambient pressure, with a charger.
func (s *solver) boosted(k int) bool {
	_, pa := s.place(k)
	return s.in.BoostPa > 0 && pa > s.in.AmbientPa
}

func (s *solver) put(k int, p *cycle.Result) error {
	r, g := s.r, s.in.Geometry
	perPa := g.DisplacementM3() / (4 * math.Pi)
	r.BestRad.Z[k] = p.BestRad
	start := tableSpark(p.BestRad, p.KnockRad, s.cranking(k), s.boosted(k))
	r.SparkRad.Z[k] = start
	// a charger gives nothing to an engine that is about to stand
	s.knock[k] = p.KnockLimited && start > p.KnockRad && !(s.cranking(k) && s.boosted(k))
	of := func(back float64) (float64, error) {
		return breathing.SparkWorkFrac(math.Min(math.Abs(back), 40*degree))
	}
	used, err := of(p.BestRad - p.SparkRad)
	if err != nil {
		return err
	}
	table, err := of(p.BestRad - start)
	if err != nil {
		return err
	}
	r.GrossNm.Z[k] = p.GrossMeanPa * perPa * table / used
	speed, pa := s.place(k)
	charger, err := s.in.ChargerNm(p.AirKgPerS, speed, pa)
	if err != nil {
		return err
	}
	r.DragNm.Z[k] = (p.FrictionPa+p.PumpingPa)*perPa + charger
	r.TorqueNm.Z[k] = r.GrossNm.Z[k] - r.DragNm.Z[k]
	r.AirKgPerS.Z[k], r.FuelKgPerS.Z[k], r.VolEffFrac.Z[k] = p.AirKgPerS, p.FuelKgPerS, p.VolEffFrac
	r.ExhaustK.Z[k], r.ResidualFrac.Z[k] = p.ExhaustK, p.ResidualFrac
	r.CoolantW.Z[k] = coolantOfWall*(p.WallW+p.PortW) + coolantOfFriction*p.FrictionPa*g.DisplacementM3()*r.TorqueNm.X.At[k/r.TorqueNm.Columns()]/(4*math.Pi)
	return nil
}

// carry gives the cells in which nothing burns the air of the next one that
// does, by its pressure, no work, and the drag that falls with the pressure.
func (s *solver) carry(misfires []bool) {
	r := s.r
	columns := r.TorqueNm.Columns()
	for i := range r.TorqueNm.Rows() {
		for j := columns - 2; j >= 0; j-- {
			k := r.TorqueNm.Cell(i, j)
			if !misfires[k] {
				continue
			}
			r.Misfires++
			down := r.TorqueNm.Y.At[j] / r.TorqueNm.Y.At[j+1]
			perPa := s.in.Geometry.DisplacementM3() / (4 * math.Pi)
			r.VolEffFrac.Z[k] = r.VolEffFrac.Z[k+1] * down
			r.AirKgPerS.Z[k] = r.AirKgPerS.Z[k+1] * down * down
			r.FuelKgPerS.Z[k] = r.FuelKgPerS.Z[k+1] * down * down
			r.SparkRad.Z[k], r.BestRad.Z[k] = r.SparkRad.Z[k+1], r.BestRad.Z[k+1]
			r.DragNm.Z[k] = r.DragNm.Z[k+1] + (r.TorqueNm.Y.At[j+1]-r.TorqueNm.Y.At[j])*perPa
			r.TorqueNm.Z[k] = -r.DragNm.Z[k]
			r.ExhaustK.Z[k], r.ResidualFrac.Z[k] = s.in.ChargeK, mostResidual
		}
	}
}

// knocks notes how many cells knock at the latest spark, and the least pressure
// of them.
func (s *solver) knocks() {
	for k, knocks := range s.knock {
		if !knocks {
			continue
		}
		speed, pa := s.place(k)
		if s.r.Knocks++; s.r.Knocks == 1 || pa < s.r.KnockPa {
			s.r.KnockPa, s.r.KnockRadPerS = pa, speed
		}
	}
}
