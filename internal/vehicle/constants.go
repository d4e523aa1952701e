package vehicle

import (
	"math"

	"fettle/internal/battery"
	"fettle/internal/breathing"
	"fettle/internal/figure"
)

// constants are the inputs that belong to no part and no line of the file:
// models' own spreads and figures of ordinary practice.
type constants struct {
	boardOhm       *figure.Input // from a ground pin to the controller's inner ground
	batteryRatio   *figure.Input // a battery's inner resistance over the model's, of its age
	acceptVS       *figure.Input // a battery's charging resistance times its capacity
	wetK           *figure.Input // air of a wet night
	vapour         *figure.Input // how steeply a fuel's vapour pressure rises
	soakK          *figure.Input // how much hotter the rail gets when the engine stands
	parkedMostA    *figure.Input // the most a parked vehicle may draw
	mildK          *figure.Input // air in the key-on state
	fiveV          *figure.Input // the controller's sensor supply
	fiveOhm        *figure.Input
	fuseRatio      *figure.Input // a warm fuse's resistance over its cold one
	airRatio       *figure.Input // this engine's air over the model's
	workRatio      *figure.Input // its work from the same air
	frictionRatio  *figure.Input
	compressorFrac *figure.Input // a charger's isentropic efficiency
	blowerFrac     *figure.Input // that of one driven by a belt
	beltFrac       *figure.Input // what its belt and gears pass on
	coolerFrac     *figure.Input // a charge cooler's effectiveness
	turbineRatio   *figure.Input // back pressure before a turbine over boost
	coolantRatio   *figure.Input // its heat to the coolant over the model's
	dutyMost       *figure.Input // the most duty an injector is driven at
	liftMostV      *figure.Input // the most a sensor's ground may stand off
	coilCrankS     *figure.Input // the longest dwell while cranking
	crankLeast     *figure.Input // the slowest cranking that starts an engine
	fuelRoomRatio  *figure.Input // what a pump should bring over what is burnt
	oil40M2PerS    *figure.Input // the oil's kinematic viscosity at 40 and 100 °C
	oil100M2PerS   *figure.Input
	oilKgPerM3     *figure.Input
	lampW          *figure.Input // a charge lamp, where its power is not stated
	exciteOhm      *figure.Input // a resistor in its place
	exciteA        *figure.Input // what starts an alternator off
	awakeV         *figure.Input // what keeps a controller awake at its switched supply
	batteryAgeS    *figure.Input // how long ago the battery was new, where nobody says
	bearsV         *figure.Input // what a control unit bears of a load dump
	coilKPerW      *figure.Input // what a relay's coil warms by its own power
	bridgeS        *figure.Input // how long a controller lives below its reset voltage
	starterHenry   *figure.Input
	starterKgM2    *figure.Input // the starter's armature at its pinion
	tankK          *figure.Input // fuel in the tank above the air on the hottest day
	strainerPa     *figure.Input
	coldPower      *figure.Input // how air rises as its temperature falls
	engineKgM2     *figure.Input // of an engine's crankshaft and flywheel, for each cubic metre
}

func ownConstants() constants {
	own := func(name string, si, sd float64, unit, source string) *figure.Input {
		in := &figure.Input{ID: figure.ID("model/" + name), SI: si, SdSI: sd, Unit: unit, Source: source, Origin: figure.Constant}
		in.Seal()
		return in
	}
	return constants{
		boardOhm:       own("board track", 0.5e-3, 0.2e-3, "mΩ", "from memory: pin and track of a control unit"),
		batteryRatio:   own("battery resistance", 1, 0.15, "", "from memory: makes of batteries, and what has become of them"),
		acceptVS:       own("charge acceptance", 10*3600, 4*3600, "", "from memory: a battery of 70 A·h at 85 % takes some 10 A at 14 V"),
		wetK:           own("wet night", 278.15, 3, "°C", "decided: 5 °C, lamps, wipers and blower on"),
		vapour:         own("vapour pressure slope", 3000, 250, "K", "from memory: Clausius and Clapeyron through petrol's Reid pressure"),
		soakK:          own("heat soak", 15, 5, "K", "from memory: rail above its place's running temperature, ten minutes after a hot stop"),
		parkedMostA:    own("parked drain limit", 0.05, 0, "mA", "common practice: 50 mA"),
		mildK:          own("mild day", 293.15, 3, "°C", "reference temperature of IEC 60028"),
		fiveV:          own("sensor supply", 5, 0.025, "V", "common practice: 5 V ± 1 %"),
		fiveOhm:        own("sensor supply resistance", 0.2, 0.05, "Ω", "from memory: a linear regulator with its track"),
		fuseRatio:      own("warm fuse", 1.25, 0.1, "", "from memory: a fuse at half its rating against a cold one"),
		airRatio:       own("air model", 1, breathing.VolEffSdFrac, "", "spread of the air model, see its Accuracy"),
		workRatio:      own("work model", 1, breathing.TorqueSdFrac, "", "spread of the work from the same air, see the engine model"),
		frictionRatio:  own("friction model", 1, breathing.FrictionSdFrac, "", "from memory: spread of friction correlations between engines"),
		compressorFrac: own("charger efficiency", 0.70, 0.05, "%", "from memory: 0.65 to 0.75 for turbochargers near full power"),
		blowerFrac:     own("belt-driven charger efficiency", 0.60, 0.06, "%", "from memory: 0.5 to 0.7 for mechanical chargers"),
		beltFrac:       own("charger drive efficiency", 0.90, 0.04, "%", "from memory: belt, gears and bearings of a mechanical charger"),
		coolerFrac:     own("charge cooler effectiveness", 0.70, 0.1, "%", "from memory: 0.6 to 0.8 for air coolers at road speed"),
		turbineRatio:   own("turbine back pressure over boost", 1.2, 0.3, "", "from memory: 1 to 1.5 for road engines at full power"),
		coolantRatio:   own("coolant heat model", 1, 0.2, "", "spread of the heat to the coolant between engines, see the engine model"),
		dutyMost:       own("injector duty limit", 0.85, 0, "%", "common practice: 80 to 85 %"),
		liftMostV:      own("sensor ground offset", 0.02, 0, "V", "common practice: 0.4 % of a 5 V signal"),
		coilCrankS:     own("longest dwell cranking", 8e-3, 0, "ms", "common practice"),
		crankLeast:     own("least cranking speed", 70*2*math.Pi/60, 5*2*math.Pi/60, "rpm", "from memory: petrol engines start from 60 to 90 rpm"),
		fuelRoomRatio:  own("fuel reserve", 1, 0, "", "decided: what is burnt must at least be brought"),
		oil40M2PerS:    own("oil at 40 °C", 70e-6, 5e-6, "mm²/s", "from memory: a 5W-30 oil"),
		oil100M2PerS:   own("oil at 100 °C", 11.5e-6, 0.7e-6, "mm²/s", "from memory: a 5W-30 oil"),
		oilKgPerM3:     own("oil density", 860, 10, "kg/m³", "from memory"),
		lampW:          own("charge lamp", 2.5, 0.3, "W", "common practice: 2 to 3 W"),
		exciteOhm:      own("excitation resistor", 68, 10, "Ω", "common practice: of the current of a lamp of 2 W"),
		exciteA:        own("excitation current", 0.15, 0, "A", "from memory: an alternator of the older kind wants some 0.15 A at terminal 61"),
		awakeV:         own("switched supply threshold", 5, 0.5, "V", "from memory: a control unit's wake-up input"),
		batteryAgeS:    own("battery age", 2*battery.YearS, 0.75*battery.YearS, "year", "decided: a vehicle in use whose battery nobody dated"),
		bearsV:         own("control unit bears", 35, 2, "V", "common practice: control units are built for test B of ISO 16750-2"),
		coilKPerW:      own("relay coil heat", 50, 10, "K/W", "from memory: a cube relay's coil to the air, 40 to 70 K/W"),
		bridgeS:        own("controller bridges", 5e-3, 1.5e-3, "ms", "from memory: what the buffer capacitor of a control unit's regulator carries"),
		starterHenry:   own("starter inductance", 80e-6, 20e-6, "µH", "from memory: armature and leads of a geared starter, 50 to 150 µH"),
		starterKgM2:    own("starter inertia", 4.5e-3, 1.2e-3, "kg·m²", "from memory: an armature of 2.2 kg·cm² behind an epicyclic gear of 4.5 : 1"),
		tankK:          own("tank above the air", 5, 3, "K", "from memory: fuel in the tank after an hour's drive on the hottest day"),
		strainerPa:     own("strainer drop", 3e3, 1.5e3, "kPa", "from memory: an in-tank sock at the flow of a road engine"),
		coldPower:      own("air with its temperature", 0.6, 0.1, "", "ISO 1585, exponent of temperature for spark ignition (from memory)"),
		engineKgM2:     own("engine inertia", 80, 20, "kg/m", "from memory: crankshaft, flywheel or converter of 0.1 to 0.25 kg·m² for engines of 1.5 to 3 litres"),
	}
}

// all lists them.
func (k *constants) all() []*figure.Input {
	return []*figure.Input{
		k.boardOhm, k.batteryRatio, k.acceptVS, k.workRatio, k.mildK, k.wetK, k.vapour, k.soakK, k.parkedMostA, k.fiveV, k.fiveOhm, k.fuseRatio, k.airRatio, k.frictionRatio, k.compressorFrac, k.blowerFrac, k.beltFrac, k.coolerFrac, k.turbineRatio, k.coolantRatio,
		k.dutyMost, k.crankLeast, k.liftMostV, k.coilCrankS, k.fuelRoomRatio, k.oil40M2PerS, k.oil100M2PerS, k.oilKgPerM3,
		k.lampW, k.exciteOhm, k.exciteA, k.awakeV, k.batteryAgeS, k.bearsV, k.coilKPerW, k.bridgeS, k.starterHenry, k.starterKgM2, k.engineKgM2, k.tankK, k.strainerPa, k.coldPower,
	}
}
