// Package catalogue holds the generic parts that fettle knows: cable, fuses,
// relays, sensors, injectors, coils, pumps, batteries, alternators, controllers
// and the archetypes that stand in for what a builder leaves out.
//
// Every value carries a unit, a spread and a source; a value recalled says
// "from memory" and a fact of the trade "common practice". Parts are described
// by what they do and belong to no maker. A build folder's own parts/ files have
// the same form and go before the embedded ones. Start reading at [Part], then
// [Open].
package catalogue

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// Part is one generic item. Which of the pointers is set depends on Kind.
type Part struct {
	Pos  diag.Pos
	Name string `key:"part" need:"true" doc:"the name the build file refers to"`
	Kind string `key:"kind" need:"true" words:"battery|alternator|starter|controller|injector|coil|capacitor|pump|motor|lamp|heater|solenoid|sensor|switch|relay|unit|gauge|connector" doc:"what it is"`
	Is   string `key:"is" need:"true" doc:"what it does, in words"`
	// Reads is what rules know a sensor or switch by, whatever it is called.
	Reads []string `key:"reads" words:"crank angle|cam angle|distributor angle|throttle angle|pedal angle|shaft speed|road speed|wheel speed|manifold pressure|outside pressure|oil pressure|fuel pressure|refrigerant pressure|air mass|air temperature|coolant temperature|oil temperature|gearbox temperature|exhaust temperature|liquid temperature|lambda|knock|ethanol share|selector|neutral|reverse|brake pedal|clutch pedal|crash|overdrive cancel" doc:"what it tells the controller"`
	// Source is the default source of every value in the item.
	Source string `key:"source" need:"true" doc:"where the values come from"`

	Terminals []buildfile.Named[Terminal] `key:"terminals" doc:"its electrical connections"`
	Contacts  []Contact                   `key:"contacts" doc:"switched ways through it"`
	Loads     []Load                      `key:"loads" doc:"what flows between its terminals"`

	Battery    *Battery    `key:"battery"`
	Alternator *Alternator `key:"alternator"`
	Starter    *Starter    `key:"starter"`
	Controller *Controller `key:"controller"`
	Injector   *Injector   `key:"injector"`
	Coil       *Coil       `key:"coil"`
	Pump       *Pump       `key:"pump"`
	Relay      *Relay      `key:"relay"`
	Connector  *Connector  `key:"connector"`
	Sensor     *Sensor     `key:"sensor"`
	Needs      *Needs      `key:"needs" doc:"the least it wants to work as described"`
	Bears      *Bears      `key:"bears" doc:"the most its supply may do to it"`
}

// Bears is the most that a part's supply may do to it.
type Bears struct {
	DumpV *figure.Input `key:"load dump" need:"true" kind:"voltage" min:"16 V" max:"200 V" doc:"peak of a pulse of some tenths of a second at its supply"`
}

// Terminal is one electrical connection of a part.
type Terminal struct {
	Pos  diag.Pos
	Role string `key:"role" need:"true" words:"feed|ground|output|input|sensor supply|sensor ground|case|post|source" doc:"what it is joined to"`
	// Feed is the feed group a feed terminal wants: "engine", "pump", "lights".
	Feed string `key:"feed" doc:"the group of fused supply it wants"`
	// Ground says which ground a ground terminal wants.
	Ground string `key:"ground" words:"power|head|body" doc:"the ground it returns to"`
	// Needs is what a controller pin must be able to do for an output or input.
	Needs string `key:"needs" doc:"what the controller's pin must be able to do"`
	// Gives is the supply that a source terminal puts out: "15", "75" or "50".
	Gives string `key:"gives" words:"15|75|50" doc:"the terminal of DIN 72552 it puts out"`
	Group string `key:"group" words:"twisted|screened" doc:"runs with its neighbours"`
	// PulseHz is left out for an output that is on or off.
	PulseHz *figure.Input `key:"pulsed at" kind:"frequency" min:"1 Hz" max:"100 kHz" doc:"how fast the controller pulses it"`
	// PeakA left out is taken from the part's load.
	PeakA *figure.Input `key:"peak current" kind:"current" min:"10 mA" max:"100 A" doc:"the most its driver has to switch"`
	HoldA *figure.Input `key:"hold current" kind:"current" min:"10 mA" max:"20 A" doc:"what keeps a peak-and-hold injector open"`
}

// Load is what a part draws between two of its terminals.
type Load struct {
	Pos      diag.Pos
	From     string        `key:"from" need:"true" doc:"the terminal where the current enters"`
	To       string        `key:"to" need:"true" doc:"the terminal where it leaves"`
	Model    string        `key:"model" need:"true" words:"resistance|current|power|pump|injector|coil|starter" doc:"how current follows voltage"`
	Ohm      *figure.Input `key:"resistance" kind:"resistance" min:"0.001 Ω" max:"10 MΩ"`
	CurrentA *figure.Input `key:"current" kind:"current" min:"0 A" max:"500 A"`
	PowerW   *figure.Input `key:"power" kind:"power" min:"0 W" max:"5 kW"`
	// DropOutV is the voltage below which a constant-power or constant-current
	// load folds back to a resistance.
	DropOutV *figure.Input `key:"drop-out" kind:"voltage" min:"0.5 V" max:"20 V"`
	// DutyFrac is the share of the time it is on while its state has it on.
	DutyFrac *figure.Input `key:"duty" kind:"ratio" min:"0 %" max:"100 %"`
	// On lists the states in which it draws.
	On []string `key:"on" words:"parked|key on|cranking|idle|wet night|cruise|full power|hot restart|after-run"`
}

// Contact is a switched way between two terminals of a part.
type Contact struct {
	Pos  diag.Pos
	From string        `key:"from" need:"true"`
	To   string        `key:"to" need:"true"`
	On   []string      `key:"on" words:"parked|key on|cranking|idle|wet night|cruise|full power|hot restart|after-run" doc:"the states in which it is closed"`
	Ohm  *figure.Input `key:"resistance" kind:"resistance" need:"true"`
}

// Battery is a starter battery.
type Battery struct {
	Capacity *figure.Input `key:"capacity" kind:"capacity" need:"true" min:"5 A·h" max:"400 A·h"`
	ColdA    *figure.Input `key:"cold cranking current" kind:"current" need:"true" min:"50 A" max:"2000 A" doc:"7.2 V after 30 s at −18 °C"`
	SoCFrac  *figure.Input `key:"state of charge" kind:"ratio" need:"true" min:"20 %" max:"100 %"`
	AgeS     *figure.Input `key:"age" kind:"time" min:"0 year" max:"9 year" doc:"since it was new; without it a battery in use is assumed"`
}

// Alternator is an alternator with its regulator.
type Alternator struct {
	RatedA      *figure.Input `key:"rated current" kind:"current" need:"true" min:"10 A" max:"400 A" doc:"at 6000 rpm of its own shaft"`
	SetV        *figure.Input `key:"set voltage" kind:"voltage" need:"true" min:"12 V" max:"16 V" doc:"at its terminal, warm"`
	SlopeOhm    *figure.Input `key:"regulation" kind:"resistance" need:"true" min:"0.1 mΩ" max:"100 mΩ" doc:"how far the voltage sinks an ampere"`
	PulleyRatio *figure.Input `key:"pulley ratio" kind:"ratio" need:"true" min:"1" max:"5"`
	Dump        string        `key:"load dump" words:"clamped|not clamped" doc:"whether its diodes limit what it gives when the battery goes; not clamped, if left out"`
}

// Starter is a starter motor with its gearing.
type Starter struct {
	StallA    *figure.Input `key:"stall current" kind:"current" need:"true" min:"50 A" max:"3000 A" doc:"at the terminal voltage of rest"`
	FreeSpeed *figure.Input `key:"free speed" kind:"rotational speed" need:"true" doc:"at the pinion, inner gearing included"`
	FreeA     *figure.Input `key:"free current" kind:"current" need:"true" min:"5 A" max:"300 A"`
	RatedV    *figure.Input `key:"rated voltage" kind:"voltage" need:"true"`
	GearRatio *figure.Input `key:"ratio to crankshaft" kind:"ratio" need:"true" min:"5" max:"100"`
	Henry     *figure.Input `key:"inductance" kind:"inductance" min:"10 µH" max:"1 mH" doc:"of armature and field"`
	KgM2      *figure.Input `key:"inertia" kind:"moment of inertia" doc:"of its armature, as felt at the pinion"`
}

// Injector is a fuel injector.
type Injector struct {
	FlowKgPerS *figure.Input `key:"static flow" kind:"mass flow" need:"true" min:"0.1 g/s" max:"100 g/s" doc:"with petrol at the rated pressure"`
	RatedPa    *figure.Input `key:"rated pressure" kind:"pressure" need:"true" min:"1 bar" max:"10 bar" doc:"across the injector"`
	DeadAt14S  *figure.Input `key:"dead time at 14 V" kind:"time" need:"true" min:"0.1 ms" max:"5 ms"`
	DeadAt8S   *figure.Input `key:"dead time at 8 V" kind:"time" need:"true" min:"0.1 ms" max:"10 ms"`
}

// Coil is an ignition coil's primary.
type Coil struct {
	Serves  string        `key:"one winding serves" words:"one cylinder|a pair|all cylinders" doc:"one cylinder if left out"`
	Ohm     *figure.Input `key:"primary resistance" kind:"resistance" need:"true" min:"0.1 Ω" max:"5 Ω"`
	Henry   *figure.Input `key:"primary inductance" kind:"inductance" need:"true" min:"0.5 mH" max:"20 mH"`
	ChargeA *figure.Input `key:"charge current" kind:"current" need:"true" min:"1 A" max:"20 A" doc:"the current it is cut at"`
	LeastJ  *figure.Input `key:"least energy" kind:"energy" need:"true" doc:"stored energy that still fires a cold engine"`
}

// Windings counts a coil's primaries: a pack has several.
func (p *Part) Windings() int {
	n := 0
	for _, l := range p.Loads {
		if l.Model == "coil" {
			n++
		}
	}
	return n
}

// Pump is an electric fuel pump.
type Pump struct {
	RatedV   *figure.Input `key:"rated voltage" kind:"voltage" need:"true"`
	RatedPa  *figure.Input `key:"rated pressure" kind:"pressure" need:"true"`
	Flow     *figure.Input `key:"flow" kind:"volume flow" need:"true" doc:"at rated voltage and pressure"`
	CurrentA *figure.Input `key:"current" kind:"current" need:"true" doc:"at rated voltage and pressure"`
	FreeFlow *figure.Input `key:"free flow" kind:"volume flow" need:"true" doc:"at rated voltage and no pressure"`
}

// Relay is a relay's coil and contact.
type Relay struct {
	CoilOhm    *figure.Input `key:"coil resistance" kind:"resistance" need:"true"`
	ContactOhm *figure.Input `key:"contact resistance" kind:"resistance" need:"true"`
	ContactA   *figure.Input `key:"contact current" kind:"current" need:"true" doc:"carried all the time at 85 °C"`
	OperateV   *figure.Input `key:"operate voltage" kind:"voltage" need:"true"`
	Suppressed string        `key:"suppressed by" words:"resistor|diode|nothing" doc:"what takes the coil's energy when it is switched off"`
	AcrossOhm  *figure.Input `key:"suppression resistance" opt:"true" kind:"resistance" min:"50 Ω" max:"5 kΩ" doc:"beside the coil"`
}

// Controller is an engine control unit by what its pins can do.
type Controller struct {
	ResetV          *figure.Input `key:"reset voltage" kind:"voltage" need:"true" doc:"below it the unit restarts"`
	BridgeS         *figure.Input `key:"bridges" kind:"time" min:"0 ms" max:"500 ms" doc:"how long its supply may stay below the reset voltage before it restarts"`
	Pins            []PinBank     `key:"pins" need:"true"`
	MostA           *figure.Input `key:"pump output current" kind:"current" doc:"the most its pump output carries"`
	SensorGroundOhm *figure.Input `key:"sensor ground resistance" kind:"resistance" need:"true" doc:"from the sensor ground pins to the power ground inside"`
	// Plugs are drawn as they are described here; others by their number of ways.
	Plugs []buildfile.Named[Plug] `key:"plugs" doc:"its plugs by their letters, way 1 at a corner and numbered along the rows"`
}

// Plug is one plug of a control unit.
type Plug struct {
	Pos  diag.Pos
	Ways int `key:"ways" need:"true" min:"1" max:"200" doc:"places for terminals, empty ones counted"`
	Rows int `key:"rows" need:"true" min:"1" max:"12"`
}

// PinBank is a run of pins of one connector that can do the same.
type PinBank struct {
	Pos       diag.Pos
	Connector string        `key:"connector" need:"true"`
	Ways      string        `key:"ways" need:"true" doc:"one way or a run: 1 or 1-5"`
	Can       []string      `key:"can" need:"true"`
	CurrentA  *figure.Input `key:"current" kind:"current"`
	Ohm       *figure.Input `key:"resistance" kind:"resistance" doc:"of the closed driver"`
	HoldA     *figure.Input `key:"hold current" kind:"current" min:"0.1 A" max:"20 A" doc:"of a peak-and-hold driver, once the injector is open"`
	// PulseHz left out says nothing: the driver is taken to pulse as it is asked.
	PulseHz   *figure.Input `key:"pulses up to" kind:"frequency" min:"1 Hz" max:"100 kHz" doc:"the fastest it can be pulsed"`
	Slow      bool          `key:"on or off only" doc:"a driver for relays and lamps, which can't be pulsed"`
	PullUpOhm *figure.Input `key:"pull-up" kind:"resistance" min:"100 Ω" max:"100 kΩ" doc:"from a thermistor's input to the sensor supply"`
	MostV     *figure.Input `key:"reads up to" kind:"voltage" min:"0.5 V" max:"40 V" doc:"the greatest signal an analogue input tells apart"`
}

// Connector is a family of plugs described by what it does.
type Connector struct {
	Ways       int           `key:"ways" need:"true" min:"1" max:"200"`
	BladeM     *figure.Input `key:"blade" kind:"length" need:"true" min:"0.5 mm" max:"12 mm" doc:"width of the terminal"`
	Sealed     bool          `key:"sealed"`
	CurrentA   *figure.Input `key:"current" kind:"current" need:"true" doc:"a way may carry all the time at 85 °C"`
	ContactOhm *figure.Input `key:"contact resistance" kind:"resistance" need:"true"`
}

// Sensor is what a sensor reads, and the signal at both ends of its range.
type Sensor struct {
	Gauge   bool          `key:"gauge" doc:"pressure above the atmosphere; absolute if left out"`
	LowPa   *figure.Input `key:"from" kind:"pressure" min:"0 kPa" max:"200 bar"`
	HighPa  *figure.Input `key:"to" kind:"pressure" min:"1 kPa" max:"400 bar"`
	LowV    *figure.Input `key:"low signal" kind:"voltage" min:"0 V" max:"12 V"`
	HighV   *figure.Input `key:"high signal" kind:"voltage" min:"0 V" max:"12 V"`
	ColdOhm *figure.Input `key:"cold resistance" kind:"resistance" min:"10 Ω" max:"10 MΩ" doc:"of a thermistor in the coldest it has to read"`
	HotOhm  *figure.Input `key:"hot resistance" kind:"resistance" min:"1 Ω" max:"1 MΩ" doc:"of a thermistor in the hottest it has to read"`
}

// Needs is the least a device wants.
type Needs struct {
	VoltageV *figure.Input `key:"voltage" kind:"voltage"`
}
