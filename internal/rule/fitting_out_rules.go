package rule

// fittingOutRules hold what the engine needs against what it is given: channels,
// drivers, sensors, phasers, fuel.
var fittingOutRules = []Rule{
	throttleDriver, idleValve,
	phaserUnused, phaserFeedback, loadSensor, airTemperature, coolantSensor, wheelGap, camSensor,
	boostMapRange, chargeHot, railHighIdle, ethanolHose, octaneCompression, knockPastSpark,
	injectorChannel, coilChannel, wastedPairs, sparkCoils, headGround, sharedGround, bodyGround,
}
