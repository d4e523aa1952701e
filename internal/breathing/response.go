package breathing

import (
	"math"

	"fettle/internal/gas"
	"fettle/internal/table"
)

// Response is an engine as tables over speed (rows, rad/s) and manifold
// pressure (columns, Pa). All have the same axes.
type Response struct {
	TorqueNm     table.Grid // at the flywheel, spark as in SparkRad
	AirKgPerS    table.Grid
	FuelKgPerS   table.Grid
	ExhaustK     table.Grid // at the exhaust port
	CoolantW     table.Grid
	VolEffFrac   table.Grid // relative to the manifold's pressure and temperature
	LambdaRatio  table.Grid
	SparkRad     table.Grid // the starting advance
	BestRad      table.Grid // the advance of best torque
	GrossNm      table.Grid // torque before friction and pumping
	DragNm       table.Grid // friction and pumping, positive
	ResidualFrac table.Grid // burned gas in the charge
	IntakeRad    table.Grid // how much earlier than parked the intake cam stands
	ExhaustRad   table.Grid // how much later than parked the exhaust cam stands

	// Model names what filled the tables.
	Model string
	// Misfires counts the cells in which the charge does not burn.
	Misfires int
	// Knocks counts the cells within the engine's reach that knock at the latest
	// spark that a table holds; KnockPa is the least pressure of them, at
	// KnockRadPerS.
	Knocks                int
	KnockPa, KnockRadPerS float64

	in Input
}

// Input is what the tables were computed from.
func (r *Response) Input() Input { return r.in }

// grids lists the tables with name and unit.
func (r *Response) grids() []gridOf {
	return []gridOf{
		{&r.TorqueNm, "torque", "N·m"},
		{&r.AirKgPerS, "air flow", "kg/s"},
		{&r.FuelKgPerS, "fuel flow", "kg/s"},
		{&r.ExhaustK, "exhaust temperature", "K"},
		{&r.CoolantW, "heat to coolant", "W"},
		{&r.VolEffFrac, "volumetric efficiency", "1"},
		{&r.LambdaRatio, "lambda", "1"},
		{&r.SparkRad, "spark advance", "rad"},
		{&r.BestRad, "best spark advance", "rad"},
		{&r.GrossNm, "gross torque", "N·m"},
		{&r.DragNm, "friction and pumping torque", "N·m"},
		{&r.ResidualFrac, "residual gas", "1"},
		{&r.IntakeRad, "intake cam, earlier", "rad"},
		{&r.ExhaustRad, "exhaust cam, later", "rad"},
	}
}

type gridOf struct {
	g          *table.Grid
	name, unit string
}

// The models that fill the tables.
const (
	ByFilling = "intake stroke"
	ByCycle   = "crank-angle cycle"
)

// Blank makes the tables of an engine, empty, for a model to fill.
func Blank(in Input, model string) (*Response, error) {
	if err := in.Check(); err != nil {
		return nil, err
	}
	speeds, pressures := in.axes()
	r := &Response{in: in, Model: model}
	for _, g := range r.grids() {
		*g.g = table.New(g.name, g.unit, table.Axis{Name: "speed", Unit: "rad/s", At: speeds}, table.Axis{Name: "manifold pressure", Unit: "Pa", At: pressures})
	}
	return r, nil
}

// Solve computes the tables of an engine by its intake stroke.
func Solve(in Input) (*Response, error) {
	r, err := Blank(in, ByFilling)
	if err != nil {
		return nil, err
	}
	for i, speed := range r.TorqueNm.X.At {
		advance := in.bestAdvance(speed)
		for j, pa := range r.TorqueNm.Y.At {
			c, err := in.cell(speed, pa, advance)
			if err != nil {
				return nil, err
			}
			k := r.TorqueNm.Cell(i, j)
			r.set(k, c)
			r.IntakeRad.Z[k] = advance * in.IntakePhaserRad
		}
	}
	r.Spreads()
	return r, nil
}

func (r *Response) set(k int, c cell) {
	p := c.point(Nominal())
	r.TorqueNm.Z[k], r.AirKgPerS.Z[k], r.FuelKgPerS.Z[k] = p.TorqueNm, p.AirKgPerS, p.FuelKgPerS
	r.ExhaustK.Z[k], r.CoolantW.Z[k], r.VolEffFrac.Z[k] = p.ExhaustK, p.CoolantW, p.VolEffFrac
	r.LambdaRatio.Z[k], r.SparkRad.Z[k], r.BestRad.Z[k] = p.LambdaRatio, p.SparkRad, c.best
	r.GrossNm.Z[k], r.DragNm.Z[k], r.ResidualFrac.Z[k] = c.gross, c.drag, c.burned
}

// Spreads sets the standard deviation of each cell by what the models are good for.
func (r *Response) Spreads() {
	of := func(g *table.Grid, sd func(k int) float64) {
		g.Spread = make([]float64, len(g.Z))
		for k := range g.Z {
			g.Spread[k] = sd(k)
		}
	}
	volEff := func(k int) float64 { return r.volEffSd(r.TorqueNm.X.At[k/r.TorqueNm.Columns()]) }
	of(&r.VolEffFrac, func(k int) float64 { return volEff(k) * r.VolEffFrac.Z[k] })
	of(&r.AirKgPerS, func(k int) float64 { return volEff(k) * r.AirKgPerS.Z[k] })
	of(&r.FuelKgPerS, func(k int) float64 { return volEff(k) * r.FuelKgPerS.Z[k] })
	of(&r.TorqueNm, func(k int) float64 {
		return math.Hypot(math.Hypot(volEff(k), GrossSdFrac)*r.GrossNm.Z[k], FrictionSdFrac*r.DragNm.Z[k])
	})
	of(&r.CoolantW, func(k int) float64 { return CoolantSdFrac * r.CoolantW.Z[k] })
	of(&r.ExhaustK, func(int) float64 { return ExhaustSdK })
	of(&r.SparkRad, func(int) float64 { return SparkSdRad })
}

// volEffSd is the relative spread of the volumetric efficiency at a speed: from
// a third of the limit down it grows to four times at standstill, two and a half
// with the cycle.
func (r *Response) volEffSd(speed float64) float64 {
	growth := 3.0
	if r.Model == ByCycle { // half as far off at low speed, as one open engine map showed both
		growth = 1.5
	}
	return VolEffSdFrac * (1 + growth*math.Max(0, 1-3*speed/r.in.MaxRadPerS))
}

// cell is one working point before scaling.
type cell struct {
	ve, air, fuel, lambda float64
	gross, drag           float64 // N·m
	best, spark, burned   float64
	exhaust, coolant      float64
}

func (c cell) point(s Scale) Point {
	return Point{
		TorqueNm: c.gross*s.VolEffRatio*s.GrossRatio - c.drag*s.FrictionRatio, AirKgPerS: c.air * s.VolEffRatio, FuelKgPerS: c.fuel * s.VolEffRatio,
		ExhaustK: c.exhaust, CoolantW: c.coolant * s.VolEffRatio, VolEffFrac: c.ve * s.VolEffRatio, LambdaRatio: c.lambda, SparkRad: c.spark,
	}
}

// cell computes one working point.
func (in *Input) cell(speed, pa, advance float64) (c cell, err error) {
	g := in.Geometry
	c.ve, c.burned = in.volEff(speed, pa, advance)
	chargeK := in.chargeK(pa)
	density := pa / (gas.AirJPerKgK * chargeK)
	if c.air, err = AirFlowKgPerS(c.ve, pa, chargeK, g.DisplacementM3(), speed); err != nil {
		return c, err
	}
	c.lambda = in.lambda(speed, pa)
	c.fuel = c.air / (in.Fuel.StoichRatio * c.lambda)
	if c.best, err = BestSparkRad(speed, pa, g.BoreM); err != nil {
		return c, err
	}
	if c.spark, err = SafeSparkRad(c.best, pa, g.CompressionRatio, in.Fuel.OctaneCount, chargeK); err != nil {
		return c, err
	}
	if c.drag, err = in.dragNm(speed, pa); err != nil {
		return c, err
	}
	charger, err := in.ChargerNm(c.air, speed, pa)
	if err != nil {
		return c, err
	}
	c.drag += charger
	flux := c.ve * density * g.MeanPistonMPerS(speed)
	if flux < noCharge {
		c.exhaust = chargeK
		return c, nil
	}
	share, err := CoolantShareFrac(flux)
	if err != nil {
		return c, err
	}
	return c, in.energy(&c, speed, chargeK, share)
}

// noCharge is a mass flux, kg/(s·m²), at which residual gas fills the cylinder
// and nothing burns.
const noCharge = 0.01

// dragNm is the torque of friction and pumping.
func (in *Input) dragNm(speed, pa float64) (float64, error) {
	friction, err := FrictionPa(speed)
	pumping := math.Max(0, in.AmbientPa+in.turbinePa(pa)-pa)
	return (frictionFrac*friction + pumping) * in.Geometry.DisplacementM3() / (4 * math.Pi), err
}

// energy shares out the heat of the fuel that the air can burn.
func (in *Input) energy(c *cell, speed, chargeK, share float64) error {
	byLambda, err := LambdaWorkRatio(c.lambda)
	if err != nil {
		return err
	}
	bySpark, err := SparkWorkFrac(c.best - c.spark)
	if err != nil {
		return err
	}
	eta, err := IndicatedFrac(in.Geometry.CompressionRatio, share)
	if err != nil {
		return err
	}
	atOne := c.air / in.Fuel.StoichRatio * in.Fuel.HeatingJPerKg // W, lambda 1
	released := completeFrac * atOne * math.Min(byLambda, 1.04)  // W
	work := eta * byLambda * bySpark * atOne
	c.coolant = share * released
	c.exhaust = chargeK + (released-work-c.coolant)/((c.air+c.fuel)*exhaustJPerKgK)
	c.gross = work / speed
	return nil
}

// lambda goes from the part-load value to that of full load over the last fifth
// of the open-throttle pressure.
func (in *Input) lambda(speed, pa float64) float64 {
	u := (pa/in.WideOpenPa(speed) - 0.78) / 0.17
	u = math.Max(0, math.Min(1, u))
	return in.CruiseLambdaRatio + u*(in.FullLambdaRatio-in.CruiseLambdaRatio)
}

// LambdaRatio is the mixture that the tables of an engine are computed at.
//
//	λ = λ_c + u (λ_f − λ_c),   u = (p/p_o − 0.78)/0.17 within 0 … 1
//
// where p_o is the pressure with the throttle open.
//
// Valid: as Input.
// Accuracy: a convention.
// Source: common practice.
// Errors: none.
func (in *Input) LambdaRatio(speedRadPerS, manifoldPa float64) float64 {
	return in.lambda(speedRadPerS, manifoldPa)
}
