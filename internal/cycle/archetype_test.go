package cycle

import (
	"math"

	"fettle/internal/crank"
	"fettle/internal/petrol"
)

const deg, rpm = math.Pi / 180, math.Pi / 30

// The comparison engines. Published with the maps are bore, stroke, compression
// ratio, four cylinders of four valves, injection into the cylinder, and what
// charges them. All else is assumed here, by rules for any four-valve engine,
// before the comparison was run; nothing of it was moved afterwards. The maps
// themselves were in view before (the simpler breathing model is held against
// one of them), and so were their full-load torque and least consumption.
//
// What is assumed, each common practice unless said otherwise:
//   - rod 1.6 strokes, no pin offset;
//   - valve heads 0.40 and 0.34 of the bore, lifts 0.10 and 0.095 of it;
//   - a ratio above 12 on pump petrol means a late intake closing over a wide
//     phaser range: 260° from seat to seat, parked at 140° after the top (closing
//     90° after the bottom), 70° of travel; exhaust 250°, parked at 115° before
//     the top, 40° of travel;
//   - a charged engine has short events: 230° parked at 120° with 50° of travel,
//     exhaust 230° parked at 115° with 40°;
//   - intake runners 0.38 m (charged 0.30 m) of 0.45 bore; exhaust runners
//     0.45 m (charged 0.15 m) of 0.42 bore; plenum 1.2 displacements;
//   - filter and open throttle lose 4 kPa, the exhaust 15 kPa (after a turbine
//     20 kPa), at the flow of rated speed with 0.9 of the displacement filled
//     (charged 1.6);
//   - four exhaust runners end in one collector, with the pipe to the catalyst
//     0.6 displacements (charged, up to the turbine, 0.2). This was added after
//     a first comparison had shown full load too high below 2500 rpm: a four
//     that opens its exhaust 250° long has the next cylinder's blowdown in its
//     valve overlap (Heywood, section 6.2.1 and 6.8: interference of cylinders;
//     from memory), and the collector at a still pressure had none. The volumes
//     are common practice, 0.4 … 1 (0.15 … 0.4), stated before the comparison was
//     run with them;
//   - what any engine has and the cycle lacked until its second comparison, as
//     package constants with their sources, none of it of one engine, stated
//     before the third was run: gas past the gap of the rings (blowby.go), intake
//     ports' and valves' walls that warm the charge (heat.go), and knock judged by
//     a cycle that burns fast, one in twenty, instead of the mean (blowby.go);
//   - charger efficiency 0.40: turbine 0.66, compressor 0.65, bearings 0.93;
//   - certification petrol without ethanol of 96 RON and 43.0 MJ/kg (the maps'
//     own columns of efficiency and consumption give the heating value);
//   - a fast-burning chamber with tumble: burn ratio 0.85;
//   - 99 kPa and 298 K outside, 303 K in the plenum (charged and cooled 313 K),
//     coolant at 363 K, oil warm;
//   - spark: most work, or knock integral 1 where that comes first;
//   - cams: least fuel at a torque, residual gas at most 0.25 and at most 75°
//     from spark to nine tenths burned; at full load most torque;
//   - lambda: 1 up to 0.85 of full-load torque, then falling evenly to 0.88 at
//     full load; charged: 1, but as rich as holds 1200 K behind the exhaust
//     port, not below 0.75.
func comparison(bore, stroke, ratio float64, charged bool) Engine {
	e := Engine{
		Geometry:      crank.Geometry{CylinderCount: 4, BoreM: bore, StrokeM: stroke, RodM: 1.6 * stroke, CompressionRatio: ratio},
		Intake:        Valve{Count: 2, HeadM: 0.40 * bore, LiftM: 0.10 * bore, DurationRad: 260 * deg, CentrelineRad: 140 * deg, PhaserRad: 70 * deg},
		Exhaust:       Valve{Count: 2, HeadM: 0.34 * bore, LiftM: 0.095 * bore, DurationRad: 250 * deg, CentrelineRad: 115 * deg, PhaserRad: 40 * deg},
		IntakeRunner:  Duct{LengthM: 0.38, BoreM: 0.45 * bore},
		ExhaustRunner: Duct{LengthM: 0.45, BoreM: 0.42 * bore},
		ExhaustDropPa: 15e3, Fuel: certification(), DirectInjection: true, BurnRatio: 0.85, CoolantK: 363,
	}
	filled, collected := 0.9, 0.6
	if charged {
		e.Intake.DurationRad, e.Intake.CentrelineRad, e.Intake.PhaserRad = 230*deg, 120*deg, 50*deg
		e.Exhaust.DurationRad = 230 * deg
		e.IntakeRunner.LengthM, e.ExhaustRunner.LengthM = 0.30, 0.15
		e.ExhaustDropPa, e.ChargerFrac = 20e3, 0.40
		filled, collected = 1.6, 0.2
	}
	e.PlenumM3 = 1.2 * e.Geometry.DisplacementM3()
	e.CollectorM3 = collected * e.Geometry.DisplacementM3()
	const rated, density = 5800 * rpm, 1.16
	e.ExhaustDropKgPerS = filled * density * e.Geometry.DisplacementM3() * rated / (4 * math.Pi)
	e.ThrottleM2 = e.ExhaustDropKgPerS / math.Sqrt(2*density*4e3)
	return e
}

func certification() petrol.Fuel {
	f := petrol.Petrol()
	f.HeatingJPerKg, f.OctaneCount = 43.0e6, 96
	return f
}

// comparisonState is the surroundings of the comparison.
func comparisonState(charged bool) Operating {
	op := Operating{UpstreamPa: 99e3, AmbientPa: 99e3, ChargeK: 303, LambdaRatio: 1, Spark: SparkUnderTest, MostKnockCount: 1, OilViscosityRatio: 1}
	if charged {
		op.ChargeK = 313
	}
	return op
}
