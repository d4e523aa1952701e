package rule

// vehicleRules are about the vehicle round the engine: its old electrics, loose
// leads, pump, gearbox, cooling and shaft.
var vehicleRules = []Rule{
	// the old electrics
	sixVolt, positiveEarth, resistanceWire, alternatorExcite, exciteWire, chargeLamp, ammeterCable, isolatorRun, loadDump, backFeed, parkedDrain,
	// how the controller is fed, and what it feeds
	mainDirect, powerGround, memoryDead, starterRunaway, pumpRunaway, pumpOverDriver, inertiaSwitch, fanAbsent,
	// what is left over from the old vehicle
	leadOpen, leadMissing, reverseLamp, tachSignal,
	// gearbox, gearing and shaft
	startInterlock, clutchInterlock, gearboxControl, gearboxSignals, gearOrder, cruiseLoad, cruiseRevs,
	shaftCritical, jointAngle, jointStill, yokes, coolingShort,
	// the bus
	canEnds, canStub, canPair,
}
