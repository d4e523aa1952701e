package rule

// vehicleRules are about the vehicle round the engine: its old electrics, loose
// leads, pump, gearbox, cooling and shaft.
var vehicleRules = []Rule{
	positiveEarth, resistanceWire, alternatorExcite, ammeterCable, isolatorRun,
	shaftCritical, jointAngle, coolingShort,
	sixVolt, leadOpen, memoryDead, pumpRunaway, parkedDrain, canEnds, canStub,
	inertiaSwitch, startInterlock, canPair, yokes,
}
