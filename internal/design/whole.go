package design

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// What follows is the rest of the vehicle: sections that a rule or a page asks
// for, and that say nothing when they are left out.

// Cam is one camshaft.
type Cam struct {
	Pos         diag.Pos
	Moves       string        `key:"moves" need:"true" words:"intake|exhaust|both" doc:"the valves it opens"`
	Bank        int           `key:"bank" min:"1" max:"2" doc:"1 holds cylinder 1"`
	DurationRad *figure.Input `key:"duration" kind:"angle" min:"150°" max:"360°" doc:"of the crankshaft, at the seat"`
	LiftM       *figure.Input `key:"lift" kind:"length" min:"3 mm" max:"20 mm"`
	CentreRad   *figure.Input `key:"centreline" kind:"angle" min:"60°" max:"150°" doc:"from top dead centre of the overlap"`
	TravelRad   *figure.Input `key:"phaser travel" kind:"angle" min:"0°" max:"90°" doc:"of the crankshaft; left out without a phaser"`
	Wheel       string        `key:"wheel" doc:"windows of its trigger wheel: 4, or 4-1"`
	Changed     bool          `key:"changed" doc:"not the cam the engine was built with"`
	Clearance   string        `key:"piston to valve clearance" words:"measured|not measured" doc:"over the whole travel, for a changed cam"`
}

// Gearbox is the gearbox.
type Gearbox struct {
	Pos          diag.Pos
	Kind         string          `key:"kind" need:"true" words:"manual|automatic"`
	Ratios       []*figure.Input `key:"ratios" kind:"ratio" min:"0.3" max:"8" doc:"first to top"`
	Reverse      *figure.Input   `key:"reverse" kind:"ratio" min:"0.3" max:"8"`
	RunBy        string          `key:"run by" words:"engine controller|own unit|hydraulics" doc:"what shifts an automatic"`
	Interlock    string          `key:"start interlock" words:"wired|not wired" doc:"starts in park and neutral, or with the clutch down, only"`
	StallRadPerS *figure.Input   `key:"stall speed" kind:"rotational speed" min:"800 rpm" max:"6000 rpm" doc:"of the converter"`
}

// Shaft is the propeller shaft.
type Shaft struct {
	Pos      diag.Pos
	LengthM  *figure.Input `key:"length" kind:"length" need:"true" min:"200 mm" max:"3 m" doc:"between joints"`
	OutsideM *figure.Input `key:"diameter" kind:"length" need:"true" min:"30 mm" max:"150 mm"`
	WallM    *figure.Input `key:"wall" kind:"length" need:"true" min:"1 mm" max:"10 mm"`
	FrontRad *figure.Input `key:"front joint angle" kind:"angle" min:"0°" max:"30°"`
	RearRad  *figure.Input `key:"rear joint angle" kind:"angle" min:"0°" max:"30°"`
	Yokes    string        `key:"yokes" words:"in line|turned" doc:"the two inner yokes"`
}

// Electrical is the vehicle's old electrics.
type Electrical struct {
	Pos      diag.Pos
	SystemV  *figure.Input `key:"system voltage" kind:"voltage" min:"5 V" max:"30 V" doc:"6 V, 12 V or 24 V"`
	Earth    string        `key:"earth" words:"negative|positive" doc:"the battery post on the body"`
	Ammeter  string        `key:"dash ammeter" words:"none|in the charging cable|by shunt"`
	Resistor string        `key:"resistance wire" words:"none|in the ignition feed|in the switched supply" doc:"the old coil's ballast"`
	Excited  string        `key:"alternator excited by" words:"lamp|lamp and diode|resistor|controller|nothing" doc:"what feeds terminal 61 until it charges"`
	LampW    *figure.Input `key:"charge lamp" kind:"power" min:"0.1 W" max:"20 W"`
	Isolator string        `key:"battery isolator" words:"none|stops the engine|leaves the alternator on"`
}

// Battery is the state of the battery in the vehicle, which its part can't know.
// How cold it gets is the climate's.
type Battery struct {
	Pos     diag.Pos
	AgeS    *figure.Input `key:"age" opt:"true" kind:"time" min:"0 year" max:"9 year" doc:"since it was new; the part's, else two years, if left out"`
	SoCFrac *figure.Input `key:"state of charge" opt:"true" kind:"ratio" min:"20 %" max:"100 %" doc:"the part's, if left out"`
}

// Cooling is the heat that the vehicle can shed.
type Cooling struct {
	Pos       diag.Pos
	RadiatorW *figure.Input `key:"radiator" kind:"power" min:"5 kW" max:"400 kW" doc:"heat it sheds at the stated temperature difference"`
	AtK       *figure.Input `key:"at" kind:"temperature difference" min:"10 K" max:"100 K" doc:"coolant above air"`
	FanSwitch string        `key:"fan switched by" words:"engine controller|thermal switch|belt"`
}

// Belt is what turns a charger that the exhaust does not.
const Belt = "a belt"

// Boost is a charger.
type Boost struct {
	Pos     diag.Pos
	GaugePa *figure.Input `key:"pressure" kind:"pressure" need:"true" min:"0.05 bar" max:"3 bar" doc:"above the atmosphere, at most"`
	Driven  string        `key:"driven by" words:"the exhaust|a belt" doc:"what turns the charger; the exhaust if left out"`
	Cooler  bool          `key:"charge cooler"`
	Sensor  string        `key:"charge temperature sensor" words:"after the cooler|before the cooler|none"`
	Cut     string        `key:"over-pressure cut" words:"fuel|none"`
}

// InjectorData is how the injector's sheet reaches the controller.
type InjectorData struct {
	Pos       diag.Pos
	EnteredPa *figure.Input `key:"entered for" kind:"pressure" need:"true" min:"1 bar" max:"10 bar" doc:"the pressure across the injector that the entered flow belongs to"`
	Corrects  bool          `key:"controller corrects" doc:"the controller carries the flow to the present pressure itself"`
	Carried   bool          `key:"carried by hand" doc:"the entered flow was already carried to the rail's pressure"`
}

// Tank is the fuel tank and what is in and on it.
type Tank struct {
	Pos      diag.Pos
	Pickup   string        `key:"pickup" words:"swirl pot|baffle|bare" doc:"what keeps fuel over the pick-up in a bend"`
	Strainer string        `key:"strainer" words:"fitted|none" doc:"before the pump"`
	Vent     string        `key:"roll-over vent" words:"fitted|none" doc:"a valve that shuts when the vehicle lies on its roof"`
	Vapour   string        `key:"vapour" words:"canister and purge valve|into the open"`
	SuctionM *figure.Input `key:"suction head" opt:"true" kind:"length" min:"0 m" max:"3 m" doc:"of the pump's inlet above the lowest fuel"`
}

// Lead is one of the vehicle's loose leads.
type Lead struct {
	Pos diag.Pos
	To  buildfile.Ref `key:"to" doc:"the device it ends at"`
	Is  string        `key:"is" words:"connected|insulated|open" doc:"what has become of it"`
}

// LeadNames are the loose leads of a swap.
var LeadNames = []string{
	"switched supply", "brake switch", "start interlock", "reverse lamp", "tachometer", "overdrive cancel", "overdrive lamp", "pump", "battery",
}

// Fitting is where and how the sensors sit that work only in the right place.
type Fitting struct {
	Pos        diag.Pos
	Lambda     *LambdaFit   `key:"lambda sensor"`
	Knock      *KnockFit    `key:"knock sensor"`
	Manifold   *ManifoldFit `key:"manifold pressure"`
	Capacitors string       `key:"suppression capacitors" words:"at the coils|elsewhere|none"`
	Stages     string       `key:"ignition stages return to" words:"their head|the body|the battery"`
}

// LambdaFit is how a wide-band sensor sits.
type LambdaFit struct {
	Pos     diag.Pos
	Place   string        `key:"place" words:"after its bank's merge|in one runner|before the turbine|after the turbine|behind the catalyst"`
	TiltRad *figure.Input `key:"above horizontal" kind:"angle" min:"-90°" max:"90°" doc:"of its connector end"`
	Leak    string        `key:"joint upstream" words:"tight|leaks"`
	Heat    string        `key:"full heat" words:"once the engine runs|from key on"`
}

// KnockFit is how a knock sensor sits.
type KnockFit struct {
	Pos      diag.Pos
	Seat     string        `key:"seat" words:"bare flat boss|painted boss|bracket"`
	Washer   bool          `key:"washer"`
	TorqueNm *figure.Input `key:"torque" kind:"torque" min:"1 Nm" max:"100 Nm"`
}

// ManifoldFit is how manifold pressure is taken.
type ManifoldFit struct {
	Pos    diag.Pos
	Tapped string `key:"tapped" words:"after the throttle|before the throttle"`
	Port   string `key:"port" words:"its own|shared"`
	Hose   string `key:"hose" words:"rises to the sensor|level|sags"`
}

// Bus is the CAN bus.
type Bus struct {
	Pos         diag.Pos
	Terminators int           `key:"terminators" min:"0" max:"9" doc:"of 120 Ω, those inside control units counted"`
	Pair        string        `key:"pair" words:"twisted|untwisted"`
	StubM       *figure.Input `key:"longest stub" kind:"length" min:"0 m" max:"20 m"`
}
