package control

import (
	"fmt"

	"fettle/internal/table"
)

// Tables are what it runs: rows first, then columns. A table without points is
// not there.
type Tables struct {
	VolEff, Spark, Lambda table.Grid // rpm, kPa: fraction, °, ratio
	Dwell, DeadTime       table.Grid // V: ms
	Crank                 table.Grid // °C: factor on fuel
	Prime                 table.Grid // °C: ms, dead time not counted
	AfterStart            table.Grid // °C: factor at the first firing
	AfterStartTime        table.Grid // °C: s
	WarmUp                table.Grid // °C: factor
	Film, FilmTime        table.Grid // °C: share that wets the wall, s
	IdleSpeed             table.Grid // °C: rpm
	IdleSpark             table.Grid // rpm above the wanted speed: ° added
	Throttle              table.Grid // % pedal, rpm: % above idle's opening
	Boost                 table.Grid // % pedal, rpm: kPa
	LoadCap               table.Grid // rpm: kPa
	SafeFuel              table.Grid // rpm, kPa: factor until learned
	SparkAir, SparkHot    table.Grid // °C: ° added
	Resume, SpeedLimit    table.Grid // °C: rpm
	IntakeCam, ExhaustCam table.Grid // rpm, kPa: ° from parked
	InjectorFlow          table.Grid // kPa across: g/s of one held open
	DeadPressure          table.Grid // kPa across: factor on the dead time
	ShortPulse            table.Grid // ms of the pulse without dead time: ms added
	IdleAir               table.Grid // °C: g/s
	Opening               table.Grid // g/s of idle air: opening of plate or valve, 0 … 1
}

// Settings are the single figures.
type Settings struct {
	Cylinders       int
	SweptM3         float64 // one cylinder
	StoichRatio     float64
	FlowKgPerS      float64 // of one injector at SetPa across it
	SetPa           float64
	AcrossIsSet     bool    // the regulator follows the manifold: the pressure across never changes
	FeedV           float64 // lost between battery and injectors or coils
	Cable           bool
	FireClosed      bool    // a value that closes the first firing is not verified: no fuel, no spark
	BoostPa         float64 // above ambient; 0 without a charger
	FullPa          float64 // manifold pressure of full load
	Learned         bool    // no cap, nothing added until learned
	LeanRatio       float64 // lambda at load that cuts
	LeanLoadFrac    float64 // of FullPa, from where lean cuts
	Rules           Rules
	Automatic       bool
	GearRadPerM     []float64 // engine over road in each gear
	PhaserMostRad   float64
	ExhaustMostRad  float64 // travel of the exhaust's phaser
	ExhaustDelayRad float64 // crank angle from injection to the exhaust
	ExhaustKg       float64 // gas in the pipe to the sensor
	LambdaLagS      float64
	FilmOff         bool // leave the wall film uncorrected, to see what it is for
	LearnOff        bool
}

// Rules are the single values that stand beside the tables.
type Rules struct {
	PrimeS                      float64 // that the pump runs at key on
	PumpStopS                   float64 // after the last crank signal
	FloodPedalFrac              float64 // from where a cranked engine gets no fuel
	HotFuelRatio                float64 // on fuel of an engine that is started hot
	HotFadeS                    float64 // in which what it adds falls to 1/e
	CrankSparkRad               float64 // at most while the starter turns the engine
	RunRadPerS                  float64 // where cranking ends
	LeastPulseS                 float64 // without dead time
	AirConKgPerS, FanKgPerS     float64 // idle air added
	ReserveRad                  float64 // spark held back at idle
	FanOnK, FanOffK             float64
	OilLeastPa                  float64 // below it for a second above 1500 rpm the engine is stopped
	CoolHalfK, CoolMostK        float64 // above them the load is halved, the engine is stopped
	SparkToFuelRadPerS          float64 // spark goes at the speed limit, fuel so much above it
	BoostOverPa                 float64 // above its target that cuts spark and fuel
	OverrunAboveRadPerS         float64 // cut above where fuel comes back
	OverrunAfterS, OverrunColdK float64
	CamOilPa, CamColdK, CamOilK float64 // parked below oil pressure and coolant, above oil temperature
	KnockBackRad                float64 // taken off at once
	CamOffRad                   float64 // off its target for a second: parked
	TracksFrac                  float64 // two tracks of a pedal apart by at most
	PlateOffFrac                float64 // off its target for 0.3 s: let go
}

// Usual are the rules of common practice, for an engine of a few litres.
func Usual() Rules {
	return Rules{
		PrimeS: 2.5, PumpStopS: 1, FloodPedalFrac: 0.8, HotFuelRatio: 1.15, HotFadeS: 20, CrankSparkRad: 10 * degree, RunRadPerS: 500 / toRpm, LeastPulseS: 0.5e-3, AirConKgPerS: 3e-3, FanKgPerS: 0.5e-3, ReserveRad: 8 * degree,
		FanOnK: kelvin + 96, FanOffK: kelvin + 91, OilLeastPa: 50e3, CoolHalfK: kelvin + 110, CoolMostK: kelvin + 115, SparkToFuelRadPerS: 100 / toRpm, BoostOverPa: 20e3, OverrunAboveRadPerS: 300 / toRpm, OverrunAfterS: 0.5, OverrunColdK: kelvin + 60,
		CamOilPa: 150e3, CamColdK: kelvin + 40, CamOilK: kelvin + 130, KnockBackRad: 4 * degree, CamOffRad: 8 * degree, TracksFrac: 0.05, PlateOffFrac: 0.08,
	}
}

func (r *Rules) check() error {
	for _, v := range []struct {
		name, unit   string
		v, low, high float64
	}{
		{"pump prime", "s", r.PrimeS, 0, 10},
		{"pump stop after the last crank signal", "s", r.PumpStopS, 0.2, 2},
		{"pedal of flood clear", "", r.FloodPedalFrac, 0.5, 1},
		{"hot restart fuel", "", r.HotFuelRatio, 1, 2},
		{"fall of hot restart fuel", "s", r.HotFadeS, 1, 120},
		{"cranking spark", "rad", r.CrankSparkRad, 0, 0.3},
		{"speed where cranking ends", "rad/s", r.RunRadPerS, 20, 100},
		{"least pulse", "s", r.LeastPulseS, 0, 2e-3},
		{"idle air for the air-con", "kg/s", r.AirConKgPerS, 0, 0.02},
		{"idle air for a fan", "kg/s", r.FanKgPerS, 0, 0.02},
		{"spark held back at idle", "rad", r.ReserveRad, 0, 0.4},
		{"fan on", "K", r.FanOnK, 330, 400},
		{"fan off", "K", r.FanOffK, 320, r.FanOnK},
		{"least oil pressure", "Pa", r.OilLeastPa, 0, 3e5},
		{"most coolant temperature", "K", r.CoolMostK, 350, 420},
		{"coolant of half load", "K", r.CoolHalfK, 340, r.CoolMostK},
		{"fuel cut above the spark cut", "rad/s", r.SparkToFuelRadPerS, 0, 60},
		{"boost above its target", "Pa", r.BoostOverPa, 5e3, 1e5},
		{"over-run cut above the resume speed", "rad/s", r.OverrunAboveRadPerS, 0, 300},
		{"over-run cut after", "s", r.OverrunAfterS, 0, 10},
		{"oil pressure of the cams", "Pa", r.CamOilPa, 0, 5e5},
		{"coolant of the cams", "K", r.CamColdK, 250, 380},
		{"hottest oil of the cams", "K", r.CamOilK, 350, 450},
		{"spark taken off for knock", "rad", r.KnockBackRad, 0, 0.3},
		{"cam off its target", "rad", r.CamOffRad, 0.02, 0.5},
		{"tracks of the pedal apart", "", r.TracksFrac, 0.005, 0.3},
		{"plate off its target", "", r.PlateOffFrac, 0.02, 0.3},
	} {
		if !(v.v >= v.low && v.v <= v.high) {
			return fmt.Errorf("%s %g %s is outside %g … %g %s", v.name, v.v, v.unit, v.low, v.high, v.unit)
		}
	}
	return nil
}

// check names the first value that can't be.
func (s *Settings) check() error {
	for _, r := range []struct {
		name, unit   string
		v, low, high float64
	}{
		{"cylinders", "", float64(s.Cylinders), 1, 16},
		{"swept volume of a cylinder", "m³", s.SweptM3, 5e-5, 2e-3},
		{"stoichiometric ratio", "", s.StoichRatio, 5, 20},
		{"injector flow", "kg/s", s.FlowKgPerS, 1e-4, 0.1},
		{"rail pressure", "Pa", s.SetPa, 1e5, 1e6},
		{"full-load manifold pressure", "Pa", s.FullPa, 5e4, 4.5e5},
		{"lean limit", "", s.LeanRatio, 0.75, 1.1},
	} {
		if !(r.v >= r.low && r.v <= r.high) {
			return fmt.Errorf("%s %g %s is outside %g … %g %s", r.name, r.v, r.unit, r.low, r.high, r.unit)
		}
	}
	return s.Rules.check()
}

// check names the first table that is missing or is none.
func (t *Tables) check(s *Settings) error {
	for _, g := range []struct {
		name string
		g    *table.Grid
		need bool
	}{
		{"volumetric efficiency", &t.VolEff, true},
		{"spark", &t.Spark, true},
		{"lambda", &t.Lambda, true},
		{"dwell", &t.Dwell, true},
		{"dead time", &t.DeadTime, true},
		{"cranking fuel", &t.Crank, true},
		{"priming pulse", &t.Prime, false},
		{"after-start fuel", &t.AfterStart, true},
		{"after-start time", &t.AfterStartTime, true},
		{"warm-up fuel", &t.WarmUp, true},
		{"wall film", &t.Film, false},
		{"wall film time", &t.FilmTime, false},
		{"idle speed", &t.IdleSpeed, true},
		{"idle air", &t.IdleAir, true},
		{"opening for idle air", &t.Opening, true},
		{"idle spark", &t.IdleSpark, true},
		{"throttle", &t.Throttle, !s.Cable},
		{"boost target", &t.Boost, s.BoostPa > 0},
		{"load cap", &t.LoadCap, true},
		{"safe fuel", &t.SafeFuel, true},
		{"spark for hot air", &t.SparkAir, false},
		{"spark for hot coolant", &t.SparkHot, false},
		{"over-run", &t.Resume, true},
		{"speed limit", &t.SpeedLimit, true},
		{"intake cam", &t.IntakeCam, s.PhaserMostRad > 0},
		{"exhaust cam", &t.ExhaustCam, s.ExhaustMostRad > 0},
		{"injector flow", &t.InjectorFlow, false},
		{"dead time with pressure", &t.DeadPressure, false},
		{"short pulses", &t.ShortPulse, false},
	} {
		if len(g.g.Z) == 0 {
			if g.need {
				return fmt.Errorf("the %s table is missing", g.name)
			}
			continue
		}
		if err := g.g.Check(); err != nil {
			return fmt.Errorf("the %s table: %w", g.name, err)
		}
	}
	return nil
}
