package rule

// engineRules are about the engine, its fuel, and how its sensors sit.
var engineRules = []Rule{
	bankOne, pedalTracks, crankSensor, camClearance, pistonSpeed, hoseClass, railBoiling,
	injectorData, injectorTwice, boostReference, lambdaTilt, knockTorque,
	directInjection, manifoldTap, hoseSag, manifoldPort, capacitors, stageGround,
	fuelCold, idleShort, railCreep, pumpSuction, pumpPulse, tankPickup, tankStrainer, tankVent, tankVapour,
	lambdaPlace, lambdaLeak, lambdaHeat, knockSeat, knockWasher, chargeTemperature, boostCut,
}
