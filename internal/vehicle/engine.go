package vehicle

import (
	"fettle/internal/balance"
	"fettle/internal/breathing"
	"fettle/internal/figure"
	"fettle/internal/gas"
	"fettle/internal/petrol"
)

// warmCoolantK is the coolant of a warm engine (common practice, 80 to 95 °C
// thermostats).
const warmCoolantK = 363.15

// cruiseLambda is the mixture away from full load (common practice).
const cruiseLambda = 1.0

// response computes the engine's tables once, for the nominal vehicle on the
// hottest day; draws scale them.
func (v *Vehicle) responseOf() (*breathing.Response, error) {
	d := figure.Draw{}
	f := v.Design.File
	e := &f.Engine
	fuel, err := petrol.Blend(f.Fuel.EthanolFrac.SI)
	if err != nil {
		return nil, err
	}
	ambient, err := gas.AtmospherePa(f.Climate.AltitudeM.SI)
	if err != nil {
		return nil, err
	}
	return breathing.Solve(breathing.Input{
		Geometry:         v.geometry(d),
		IntakeValveCount: e.IntakeValves, IntakeValveM: e.IntakeValveM.SI, IntakeLiftM: e.IntakeLiftM.SI,
		IntakeOpensRad: e.IntakeOpenRad.SI, IntakeClosesRad: e.IntakeCloseRad.SI, IntakePhaserRad: e.PhaserRad.SI,
		RunnerM: e.RunnerM.SI, RunnerBoreM: e.RunnerBoreM.SI,
		IdleRadPerS: e.IdleRadPerS.SI, MaxRadPerS: e.LimitRadPerS.SI,
		Fuel: fuel, FullLambdaRatio: e.LambdaFull.SI, CruiseLambdaRatio: cruiseLambda,
		AmbientPa: ambient, ChargeK: f.Climate.HottestK.SI + e.ChargeRiseK.SI, CoolantK: warmCoolantK,
		IntakeDropPa: e.IntakeDropPa.SI, ExhaustDropPa: e.ExhaustDropPa.SI,
	})
}

// engine draws the engine: its tables with a scale on air, work and friction.
func (v *Vehicle) engine(d figure.Draw, fuel petrol.Fuel) balance.Engine {
	return balance.Engine{
		Response: v.response,
		Scale: breathing.Scale{
			VolEffRatio: d.Of(v.k.airRatio), GrossRatio: d.Of(v.k.workRatio), FrictionRatio: d.Of(v.k.frictionRatio),
		},
		Cylinders: v.Design.File.Engine.Cylinders, StoichRatio: fuel.StoichRatio,
		FullRatio: d.Of(v.Design.File.Engine.LambdaFull) / v.Design.File.Engine.LambdaFull.SI,
		SweptM3:   v.geometry(d).DisplacementM3(),
		CrankK:    d.Of(v.Design.File.Climate.ColdestK),
	}
}
