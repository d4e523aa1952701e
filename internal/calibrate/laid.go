package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/figure"
	"fettle/internal/gas"
	"fettle/internal/table"
)

// laid is the engine on the axes of its tables: air, spark and cams in SI with
// what the models' own spread is, and which model made them.
type laid struct {
	volEff, spark, intake, exhaust table.Grid
	// filling is the intake stroke on the same axes.
	filling *breathing.Response
	byCycle bool
	// standsIn says that the intake stroke stands for a cycle.
	standsIn bool
	misfires int
	knocks   int
	knockPa  float64 // the least pressure of cells that knock at the latest spark
	top      float64 // the last pressure that the cycle is computed for, Pa
}

// lay takes the cells from the engine's cycle when there is one, else from the
// intake stroke.
func lay(in *Input, filling *breathing.Response) *laid {
	l := &laid{filling: filling, volEff: filling.VolEffFrac, spark: filling.SparkRad, intake: filling.IntakeRad, exhaust: filling.ExhaustRad}
	c := in.Response
	if c == nil || c.Model != breathing.ByCycle {
		l.standsIn = c != nil
		return l
	}
	l.knocks, l.knockPa = c.Knocks, c.KnockPa
	l.byCycle, l.misfires, l.top = true, c.Misfires, c.SparkRad.Y.At[len(c.SparkRad.Y.At)-1]
	l.volEff, l.intake, l.exhaust = over(&c.VolEffFrac, filling, false), over(&c.IntakeRad, filling, false), over(&c.ExhaustRad, filling, false)
	l.spark = over(&c.SparkRad, filling, true)
	e := c.Input()
	for i, n := range l.spark.X.At {
		if n < e.IdleRadPerS { // there the engine starts
			continue
		}
		short := 0.0
		for j, pa := range l.spark.Y.At {
			k := l.spark.Cell(i, j)
			// the trade's rule may know better than the cycle; the later of both is
			// on the safe side. Under boost the rule knows little: there the table
			// stands as far below the cycle as at the ambient pressure.
			if pa <= math.Max(e.AmbientPa, gas.StandardPa)+1e3 {
				short = math.Max(0, l.spark.Z[k]-filling.SparkRad.Z[k])
			}
			l.spark.Z[k] -= short
		}
	}
	return l
}

// fallPerPa is the least that a spark falls past the ambient pressure where the
// engine lives, the last that its cycle is computed for: knock limits of
// four-stroke petrol engines fall by 0.2 to 0.5° a kPa (from memory).
const fallPerPa = 0.5 * degree / 1e3

// over reads a grid of the cycle at the points of the tables. Past its last
// pressure a spark goes on falling as it fell before, and no less than fallPerPa.
func over(g *table.Grid, on *breathing.Response, falls bool) table.Grid {
	out := on.TorqueNm.Clone()
	out.Name, out.Unit = g.Name, g.Unit
	out.Spread = make([]float64, len(out.Z))
	x, y := g.X.At, g.Y.At
	e := on.Input()
	idle := e.IdleRadPerS
	top, before := y[len(y)-1], y[len(y)-2]
	for i, n := range out.X.At {
		n = math.Max(x[0], math.Min(x[len(x)-1], n)) // the axis ends on a whole rpm
		for j, p := range out.Y.At {
			k := out.Cell(i, j)
			w, err := g.Weights(n, math.Max(y[0], math.Min(top, p)))
			if err != nil {
				continue // held within both axes above
			}
			out.Z[k] = w.Of(g)
			if len(g.Spread) > 0 {
				out.Spread[k] = w.SpreadOf(g)
			}
			if !falls {
				continue
			}
			if p > top {
				lower, _ := g.Clamped(n, before)
				out.Z[k] += math.Min(-fallPerPa, (out.Z[k]-lower)/(top-before)) * (p - top)
			}
			if i := below(x, n); x[i] <= idle+1e-9 { // there the spark bends at its least, and between cells the lesser is right
				out.Z[k] = math.Min(out.Z[k], leastAround(g, i, below(y, p)))
			}
		}
	}
	return out
}

// below is the last but one point of an axis at most, at or below v.
func below(at []float64, v float64) int {
	i := 0
	for i < len(at)-2 && at[i+1] <= v {
		i++
	}
	return i
}

// leastAround is the least of the four cells around a place.
func leastAround(g *table.Grid, row, column int) float64 {
	a, b := g.Cell(row, column), g.Cell(row+1, column)
	return math.Min(math.Min(g.Z[a], g.Z[a+1]), math.Min(g.Z[b], g.Z[b+1]))
}

// volEffSd adds the inputs' spread to that of the model.
func (l *laid) volEffSd(c *changes, k int, speedRadPerS, manifoldPa float64) float64 {
	return sdAt(c.ve, speedRadPerS, manifoldPa, l.volEff.Spread[k])
}

// model says which model made the cells.
func (l *laid) model() string {
	switch {
	case l.byCycle:
		return "by the crank-angle cycle"
	case l.standsIn:
		return "by the intake stroke, which stands in for the crank-angle cycle where that does not settle"
	}
	return "by the intake stroke"
}

// spreadModel says how the inputs' spread was computed.
func (l *laid) spreadModel() string {
	if l.byCycle {
		return fmt.Sprintf("; what each input's spread moves is computed by the cycle at %d × %d places, the cams held", coarseRows, coarseColumns)
	}
	return ""
}

// silent notes the cells of the cycle in which nothing burns.
func (l *laid) silent(m *Map) {
	if l.misfires > 0 {
		m.note("in %d of the cycle's cells at little pressure the charge does not burn; they hold what the next one that burns gives", l.misfires)
	}
}

// CamRad returns how far from parked a starting table lets a cam stand.
//
//	φ = φ_c within 0 … φ_t
//
// where φ_c is the position of most torque with the throttle open, at part load that of least fuel for the torque with at most a quarter of burned gas and 75° from the spark to nine tenths burned, parked at idle's pressure, and φ_t the phaser's travel; rounded down to a tenth of a degree.
//
// Valid: any.
// Accuracy: the grid of the search, an eighth of the travel.
// Source: common practice: overlap saves pumping at part load and is taken back where burned gas makes the burn uneven.
// Errors: none.
func CamRad(soughtRad, travelRad float64) float64 {
	held := math.Max(0, math.Min(soughtRad, travelRad))
	return math.Floor(10*held/degree+1e-9) / 10 * degree
}

// camMaps are the cams' targets, for the sides whose phaser the cycle moved.
func camMaps(in *Input, l *laid, speed, pressure table.Axis) (out []Map) {
	if !l.byCycle {
		return nil
	}
	for _, s := range []struct {
		name, title, quantity string
		travelRad             float64
		at                    *table.Grid
	}{
		{IntakeCam, "Intake cam", "intake cam, earlier than parked", in.Engine.IntakePhaserRad, &l.intake},
		{ExhaustCam, "Exhaust cam", "exhaust cam, later than parked", in.Engine.Cycle.ExhaustPhaserRad, &l.exhaust},
	} {
		if s.travelRad > 0 {
			out = append(out, camMap(in, l, s.name, s.title, s.quantity, s.travelRad, s.at, speed, pressure))
		}
	}
	return out
}

// camStep is the last step of the search over a phaser's travel; the best lies
// within it, evenly.
const camStep = 1.0 / 8

func camMap(in *Input, l *laid, name, title, what string, travelRad float64, at *table.Grid, speed, pressure table.Axis) Map {
	m := Map{Name: name, Title: title, By: "calibrate.CamRad"}
	m.Grid = table.New(what, "°", speed, pressure)
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	sd := camStep * travelRad / math.Sqrt(3)
	search := own("search of "+name, 1, camStep/math.Sqrt(3), "", "step of the search over the phaser's travel, evenly spread")
	for k := range m.Grid.Z {
		m.Grid.Z[k] = math.Round(10*CamRad(at.Z[k], travelRad)/degree) / 10
		if m.Grid.Z[k] > 0 {
			m.Grid.Spread[k] = sd / degree
		}
	}
	m.Basis = fmt.Sprintf("by the crank-angle cycle over %.0f° of travel: most torque with the throttle open, least fuel for the torque below it, "+
		"at most a quarter of burned gas and 75° from the spark to nine tenths burned; parked at idle's pressure and below idle speed (common practice)", travelRad/degree)
	low, high := ends(m.Grid.Spread)
	m.Uncertainty = bounds(low, high, 1, "°") + ", 95 times in 100, from the step of the search; a parked cell is a choice"
	m.note("no cell asks for more than the travel of %.1f°; cam windows must hold over all of it", math.Floor(10*travelRad/degree+1e-9)/10)
	m.note("parked until oil pressure and temperature permit; changed cams turn only after the valves' clearance has been measured over the travel")
	m.finish(append([]*figure.Input{search}, leavesOf(in)...)...)
	return m
}
