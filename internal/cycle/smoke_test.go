package cycle

import (
	"testing"

	"fettle/internal/crank"
	"fettle/internal/petrol"
)

func plainFour() Engine {
	return Engine{
		Geometry:     crank.Geometry{CylinderCount: 4, BoreM: 0.086, StrokeM: 0.086, RodM: 0.143, CompressionRatio: 10.5},
		Intake:       Valve{Count: 2, HeadM: 0.0335, LiftM: 0.009, DurationRad: 250 * deg, CentrelineRad: 115 * deg, PhaserRad: 40 * deg},
		Exhaust:      Valve{Count: 2, HeadM: 0.0285, LiftM: 0.0085, DurationRad: 245 * deg, CentrelineRad: 112 * deg, PhaserRad: 30 * deg},
		IntakeRunner: Duct{0.4, 0.04}, ExhaustRunner: Duct{0.45, 0.036}, PlenumM3: 3e-3, ThrottleM2: 1.5e-3,
		ExhaustDropPa: 20e3, ExhaustDropKgPerS: 0.14, Fuel: petrol.Petrol(), BurnRatio: 1, CoolantK: 363,
	}
}

func TestSmoke(t *testing.T) {
	m, err := NewModel(plainFour())
	if err != nil {
		t.Fatal(err)
	}
	for _, wide := range []bool{true, false} {
		for _, n := range []float64{800, 1500, 2500, 4000, 6000} {
			op := Operating{SpeedRadPerS: n * rpm, ManifoldPa: 45e3, WideOpen: wide, UpstreamPa: 100e3, AmbientPa: 100e3, ChargeK: 305, LambdaRatio: 1, IntakeAdvanceRad: 20 * deg, Spark: SparkUnderTest, MostKnockCount: 1, OilViscosityRatio: 1}
			r, ended, err := m.Point(op)
			t.Logf("%5.0f wide %v %v steps %d res %.1e: VE %.3f MAP %.1f T %.1f IMEPg %.2f pump %.3f fmep %.2f bsfc %.0f res %.3f exh %.0f best %.1f knock %.1f K %.2f ca50 %.1f burn %.1f peak %.0f wall %.3f  mass %.1e en %.1e back %.2f", n, wide, err, ended.Steps, ended.Residual,
				r.VolEffFrac, r.ManifoldPa/1e3, r.TorqueNm, r.GrossIMEPPa/1e5, r.PumpingPa/1e5, r.FrictionPa/1e5, r.FuelKgPerJ*3.6e9, r.ResidualFrac, r.ExhaustK, r.BestRad/deg, r.KnockRad/deg, r.KnockCount, r.Burn50Rad/deg, r.BurnRad/deg, r.PeakPa/1e5,
				r.WallW/(r.FuelKgPerS*43.4e6), r.Mass.MissFrac(), r.Energy.MissFrac(), r.BackflowFrac)
			if ended.Why != "" {
				t.Log(ended.Why)
			}
		}
	}
}

func BenchmarkPointGiven(b *testing.B) {
	m, _ := NewModel(plainFour())
	op := Operating{SpeedRadPerS: 3000 * rpm, ManifoldPa: 60e3, UpstreamPa: 100e3, AmbientPa: 100e3, ChargeK: 305, LambdaRatio: 1, SparkRad: 25 * deg, MostKnockCount: 1, OilViscosityRatio: 1}
	for b.Loop() {
		m.Point(op)
	}
}

func BenchmarkPointKnock(b *testing.B) {
	m, _ := NewModel(plainFour())
	op := Operating{SpeedRadPerS: 3000 * rpm, ManifoldPa: 90e3, UpstreamPa: 100e3, AmbientPa: 100e3, ChargeK: 305, LambdaRatio: 1, Spark: SparkUnderTest, MostKnockCount: 1, OilViscosityRatio: 1}
	for b.Loop() {
		m.Point(op)
	}
}
