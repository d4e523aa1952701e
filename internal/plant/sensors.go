package plant

import "math"

// Readings is what the sensors say, with their noise and lag.
type Readings struct {
	TimeS                   float64
	SpeedRadPerS            float64
	TurnRad                 float64 // crankshaft since the start, counted in teeth
	ManifoldPa, UpPa        float64
	AmbientPa               float64
	PlateFrac               float64
	PedalFrac, PedalTwoFrac float64
	BrakeFrac               float64
	CoolantK, OilK, ChargeK float64
	LambdaRatio             float64
	LambdaReady             bool
	BatteryV                float64
	RoadMPerS               float64
	KnockCount              float64 // level over the quiet engine's
	OilPa, FuelPa           float64
	PhaserRad               float64
	ExhaustPhaserRad        float64
}

// Sensors' noise, one standard deviation, and time constants (common practice;
// the wide-band sensor 60 ms, production sensors 50 to 100 ms).
const (
	pressureSdPa, pressureS = 250.0, 0.008
	speedSdFrac             = 0.002
	plateSdFrac             = 0.0008
	coolantS, chargeS       = 3.0, 4.0
	coolantSdK              = 0.2
	lambdaS, lambdaSd       = 0.06, 0.004
	lightS                  = 12.0 // until a wide-band sensor is hot
	batterySdV              = 0.03
	roadSdMPerS             = 0.03
)

// sensors hold what lags.
type sensors struct {
	pa, coolant, charge, phi, heated, road, knock, turn float64
}

func (s *sensors) reset(p *Plant) {
	*s = sensors{pa: p.manifoldPa, coolant: p.coolantK, charge: p.chargeK()}
}

// Read reads the sensors; dtS is the time since they were read last.
func (p *Plant) Read(in *Inputs, dtS float64) Readings {
	s := &p.sense
	lag := func(x *float64, to, tau float64) {
		if tau <= 0 {
			*x = to
			return
		}
		*x += (to - *x) * (1 - math.Exp(-dtS/tau))
	}
	lag(&s.pa, p.manifoldPa, pressureS)
	lag(&s.coolant, p.coolantK, coolantS)
	lag(&s.charge, p.chargeK(), chargeS)
	lag(&s.phi, p.sensedPhi(), lambdaS)
	lag(&s.road, p.roadMPerS, 0.05)
	s.turn += p.speed * dtS
	s.heated += dtS
	s.knock = math.Max(s.knock*math.Exp(-dtS/0.05), p.knock)
	noise := p.rng.NormFloat64
	r := Readings{
		TimeS: p.timeS, SpeedRadPerS: math.Max(0, p.speed*(1+speedSdFrac*noise())), TurnRad: s.turn,
		ManifoldPa: s.pa + pressureSdPa*noise(), UpPa: p.upPa + pressureSdPa*noise(), AmbientPa: p.day.AmbientPa,
		PlateFrac: p.plate + plateSdFrac*noise(), PedalFrac: in.PedalFrac, PedalTwoFrac: in.PedalFrac / 2, BrakeFrac: in.BrakeFrac,
		CoolantK: s.coolant + coolantSdK*noise(), OilK: p.oilK, ChargeK: s.charge + coolantSdK*noise(),
		LambdaReady: s.heated > lightS, BatteryV: p.busV + batterySdV*noise(), RoadMPerS: math.Max(0, s.road+roadSdMPerS*noise()*math.Min(1, s.road)),
		OilPa: p.oilPa, FuelPa: p.railPa, PhaserRad: p.phaser, ExhaustPhaserRad: p.exhaustPhaser,
		KnockCount: math.Max(0, s.knock*(1+0.05*noise())),
	}
	r.LambdaRatio = math.Max(0.65, math.Min(2, 1/math.Max(s.phi, 0.5)))
	if r.LambdaRatio < 2 {
		r.LambdaRatio += lambdaSd * noise()
	}
	return r
}

// True is what the engine really does.
type True struct {
	TimeS, SpeedRadPerS, ManifoldPa, UpPa                                         float64
	LambdaRatio                                                                   float64 // of the charge that burns now, vapour and film counted
	TorqueNm, RoadMPerS, CoolantK, OilK, BusV                                     float64
	FirstFireS                                                                    float64 // when every cylinder had burned once; −1 before
	WorstKnockCount, KnockCount                                                   float64
	Knock                                                                         Knocked
	FuelKg, AirKg, WasteKg, FilmKg, InjectedKg                                    float64
	PlateFrac, PhaserRad, ExhaustPhaserRad, StarterA, RailPa, ChargeK, ChargeFrac float64
	HeatInJ, HeatOutJ                                                             float64
	ThroughKgPerS, ExhaustK                                                       float64
}

// True tells what no sensor does.
func (p *Plant) True() True {
	t := True{
		TimeS: p.timeS, SpeedRadPerS: p.speed, ManifoldPa: p.manifoldPa, UpPa: p.upPa, TorqueNm: p.gross, RoadMPerS: p.roadMPerS,
		CoolantK: p.coolantK, OilK: p.oilK, BusV: p.busV, FirstFireS: p.firstFireS, WorstKnockCount: p.worstKnock, KnockCount: p.knock, Knock: p.knockAt,
		FuelKg: p.fuelKg, AirKg: p.airKg, WasteKg: p.wasteKg, FilmKg: p.filmKg, InjectedKg: p.injected, PlateFrac: p.plate, PhaserRad: p.phaser, ExhaustPhaserRad: p.exhaustPhaser,
		StarterA: p.starterA, RailPa: p.railPa, ChargeK: p.chargeK(), ChargeFrac: p.soc, HeatInJ: p.heatInJ, HeatOutJ: p.heatOutJ, ThroughKgPerS: p.throughKgPerS, ExhaustK: p.exhaustK,
		LambdaRatio: math.Inf(1),
	}
	if b := p.burning; b.fuelKg > 0 {
		t.LambdaRatio = b.airKg / (b.fuelKg * p.e.Fuel.StoichRatio)
	}
	return t
}
