// Package design holds the vehicle that a build file describes: first as it is
// written, then resolved, with every omitted value filled from an archetype and
// marked as assumed, and every device given its part.
//
// Conventions: numbers are *figure.Input leaves in SI; places keep the position
// in the file. Nothing here computes. Start reading at [File], then [Resolve].
package design

import (
	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// The operating states that the vehicle is solved in.
const (
	Parked     = "parked"
	KeyOn      = "key on"
	Cranking   = "cranking"
	Idle       = "idle"
	WetNight   = "wet night"
	Cruise     = "cruise"
	Full       = "full power"
	HotRestart = "hot restart"
	AfterRun   = "after-run"
)

// StateNames lists the states in the order they are lived through.
var StateNames = [...]string{Parked, KeyOn, Cranking, Idle, WetNight, Cruise, Full, HotRestart, AfterRun}

// Runs reports whether the engine runs in a state, Cranks whether the starter
// turns it, Warm whether it and what is round it are hot.
func Runs(state string) bool {
	return state == Idle || state == WetNight || state == Cruise || state == Full
}

// Cranks reports whether the starter turns the engine.
func Cranks(state string) bool { return state == Cranking || state == HotRestart }

// Warm reports whether the engine and what lies round it are hot.
func Warm(state string) bool { return Runs(state) || state == HotRestart || state == AfterRun }

// File is a build file as written.
type File struct {
	Pos     diag.Pos
	Fettle  int     `key:"fettle" need:"true" min:"1" max:"1" doc:"the form of this file; 1"`
	Name    string  `key:"name" need:"true" doc:"the vehicle, as you call it"`
	Remark  string  `key:"remark" doc:"printed on the cover"`
	Vehicle Vehicle `key:"vehicle" need:"true"`
	Climate Climate `key:"climate"`
	Fuel    Fuel    `key:"fuel"`
	Engine  Engine  `key:"engine" need:"true"`
	System  System  `key:"fuel system"`
	Tank    *Tank   `key:"tank"`

	Trigger  *Trigger  `key:"trigger" doc:"how the controller reads crankshaft and cams"`
	Verified *Verified `key:"verified" doc:"what was proven on the vehicle before the first firing"`

	Places     []buildfile.Named[Place]  `key:"places" need:"true" doc:"where things are"`
	Routes     []Route                   `key:"routes" need:"true" doc:"where wires run between places"`
	Devices    []buildfile.Named[Device] `key:"devices" need:"true"`
	Loom       Loom                      `key:"loom" doc:"what you fix; fettle decides the rest"`
	Gearbox    *Gearbox                  `key:"gearbox"`
	Shaft      *Shaft                    `key:"propeller shaft"`
	Electrical *Electrical               `key:"electrical"`
	Battery    *Battery                  `key:"battery" doc:"how the battery is; its part says the rest"`
	Cooling    *Cooling                  `key:"cooling"`
	Boost      *Boost                    `key:"boost"`
	Data       *InjectorData             `key:"injector data"`
	Leads      []buildfile.Named[Lead]   `key:"loose leads"`
	Fitting    *Fitting                  `key:"fitting" doc:"where and how the sensors sit"`
	Bus        *Bus                      `key:"can bus"`

	Waive []Waiver `key:"waive" doc:"findings you accept, with a reason"`
}

// Vehicle is what the engine has to move.
type Vehicle struct {
	Pos         diag.Pos
	Like        string        `key:"like" doc:"the archetype that fills what is left out"`
	MassKg      *figure.Input `key:"mass" kind:"mass" min:"300 kg" max:"6000 kg" doc:"ready to drive"`
	DragAreaM2  *figure.Input `key:"drag area" kind:"area" min:"0.3 m²" max:"6 m²" doc:"drag coefficient times frontal area"`
	RollingFrac *figure.Input `key:"rolling resistance" kind:"ratio" min:"0.5 %" max:"5 %"`
	Tyre        *Tyre         `key:"tyre" doc:"205/65R15, or a diameter"`
	AxleRatio   *figure.Input `key:"axle ratio" kind:"ratio" min:"1.5" max:"10"`
	CruiseMPerS *figure.Input `key:"cruise speed" kind:"speed" min:"20 km/h" max:"200 km/h" doc:"of the cruise state"`
	CruiseRatio *figure.Input `key:"gear ratio at cruise" kind:"ratio" min:"0.4" max:"6" doc:"the gearbox's top gear if left out"`
	TopRatio    *figure.Input `key:"gear ratio at full power" kind:"ratio" min:"0.4" max:"6" doc:"of the gear the full-power state is driven in"`
}

// Climate is where the vehicle has to work.
type Climate struct {
	Pos       diag.Pos
	Like      string        `key:"like"`
	AltitudeM *figure.Input `key:"altitude" kind:"length" min:"0 m" max:"5000 m"`
	HottestK  *figure.Input `key:"hottest" kind:"temperature" min:"-10 °C" max:"60 °C"`
	ColdestK  *figure.Input `key:"coldest" kind:"temperature" min:"-29 °C" max:"40 °C"`
}

// Fuel is what is in the tank.
type Fuel struct {
	Pos         diag.Pos
	OctaneCount int           `key:"octane" min:"0" max:"130" doc:"research octane number; 0 takes the fuel's"`
	Like        string        `key:"like"`
	EthanolFrac *figure.Input `key:"ethanol" kind:"ratio" min:"0 %" max:"100 %" doc:"share by volume"`
}

// Engine is the engine that goes in.
type Engine struct {
	Pos              diag.Pos
	Like             string        `key:"like" doc:"the archetype that fills what is left out"`
	DisplacementM3   *figure.Input `key:"displacement" opt:"true" kind:"volume" min:"0.1 L" max:"12 L" doc:"checked against bore, stroke and cylinders"`
	Layout           string        `key:"layout" words:"inline|V|flat" doc:"inline if left out"`
	BankOne          []int         `key:"bank 1" doc:"its cylinders; bank 1 is the one that holds cylinder 1"`
	BankAngleRad     *figure.Input `key:"bank angle" opt:"true" kind:"angle" min:"10°" max:"180°"`
	NumberedFrom     string        `key:"cylinder 1 is at" words:"the timing drive|the flywheel" doc:"the end that numbering begins at"`
	Direct           bool          `key:"direct injection"`
	CrankWheel       string        `key:"crank wheel" doc:"teeth less missing ones: 60-2"`
	Cams             []Cam         `key:"cams"`
	Throttle         string        `key:"throttle" words:"electronic|cable"`
	Spark            string        `key:"spark" words:"one coil a cylinder|wasted spark|distributor" doc:"how coils serve cylinders"`
	Fires            string        `key:"fires" words:"evenly|unevenly" doc:"evenly if left out; a V6 of 90° on shared crank pins fires unevenly"`
	Cylinders        int           `key:"cylinders" need:"true" min:"1" max:"16"`
	FiringOrder      string        `key:"firing order" need:"true" doc:"1-2-4-5-3"`
	BoreM            *figure.Input `key:"bore" kind:"length" min:"50 mm" max:"150 mm"`
	StrokeM          *figure.Input `key:"stroke" kind:"length" min:"40 mm" max:"160 mm"`
	RodM             *figure.Input `key:"rod" kind:"length" min:"70 mm" max:"300 mm" doc:"between centres"`
	CompressionRatio *figure.Input `key:"compression ratio" kind:"ratio" min:"5" max:"20"`
	IntakeValveM     *figure.Input `key:"intake valve" kind:"length" min:"15 mm" max:"70 mm" doc:"head diameter"`
	IntakeLiftM      *figure.Input `key:"intake lift" kind:"length" min:"4 mm" max:"18 mm"`
	IntakeValves     int           `key:"intake valves" min:"0" max:"3" doc:"a cylinder; 0 takes the archetype's"`
	IntakeCloseRad   *figure.Input `key:"intake closes" kind:"angle" min:"10°" max:"110°" doc:"after bottom dead centre"`
	IntakeOpenRad    *figure.Input `key:"intake opens" kind:"angle" min:"-40°" max:"70°" doc:"before top dead centre; negative after it"`
	PhaserRad        *figure.Input `key:"intake phaser" kind:"angle" min:"0°" max:"80°" doc:"how far a phaser moves it both earlier; 0 without"`
	IdleRadPerS      *figure.Input `key:"idle speed" kind:"rotational speed" min:"400 rpm" max:"2000 rpm"`
	PeakRadPerS      *figure.Input `key:"full power speed" kind:"rotational speed" min:"2000 rpm" max:"12000 rpm"`
	LimitRadPerS     *figure.Input `key:"speed limit" kind:"rotational speed" min:"2500 rpm" max:"13000 rpm"`
	RunnerM          *figure.Input `key:"runner" kind:"length" min:"50 mm" max:"1500 mm" doc:"of the intake, from plenum to valve"`
	RunnerBoreM      *figure.Input `key:"runner bore" kind:"length" min:"15 mm" max:"100 mm"`
	ChargeRiseK      *figure.Input `key:"charge warming" kind:"temperature difference" min:"0 K" max:"60 K" doc:"from the air outside to the manifold, without boost"`
	IntakeDropPa     *figure.Input `key:"intake drop" kind:"pressure" min:"0 kPa" max:"15 kPa" doc:"filter and open throttle, at the speed limit"`
	ExhaustDropPa    *figure.Input `key:"exhaust drop" kind:"pressure" min:"0 kPa" max:"50 kPa" doc:"exhaust system, at the speed limit and full load"`
	LambdaFull       *figure.Input `key:"lambda at full power" kind:"ratio" min:"0.7" max:"1.1"`
	ExhaustValveM    *figure.Input `key:"exhaust valve" kind:"length" min:"12 mm" max:"65 mm" doc:"head diameter"`
	ExhaustRunM      *figure.Input `key:"exhaust runner" kind:"length" min:"50 mm" max:"2000 mm" doc:"from the valve to where the runners meet"`
	ExhaustRunBoreM  *figure.Input `key:"exhaust runner bore" kind:"length" min:"15 mm" max:"100 mm"`
	CollectorRatio   *figure.Input `key:"exhaust collector" kind:"ratio" min:"0.05" max:"4" doc:"volume where the runners meet, up to catalyst or turbine, over the displacement"`
	PlenumRatio      *figure.Input `key:"plenum" kind:"ratio" min:"0.25" max:"8" doc:"volume of the intake between throttle and runners, over the displacement"`
	BurnRatio        *figure.Input `key:"burn length" kind:"ratio" min:"0.5" max:"2" doc:"against a four-valve chamber with a central plug: 1.3 for two valves, 0.85 with strong tumble"`
}

// System is the fuel system between tank and injectors.
type System struct {
	Pos             diag.Pos
	Like            string        `key:"like"`
	SetPa           *figure.Input `key:"rail pressure" kind:"pressure" min:"1 bar" max:"9 bar" doc:"at the regulator, above the atmosphere"`
	Hose            string        `key:"hose class" words:"R6|R7|R8|R9|R10|R14" doc:"of SAE J30, printed on the hose"`
	Reference       string        `key:"regulator reference" words:"atmosphere|manifold" doc:"what the regulator is referred to"`
	Return          string        `key:"return" words:"none|at the rail" doc:"returnless, or a return line"`
	Inertia         string        `key:"inertia switch" words:"fitted|none" doc:"in the feed of the pump"`
	LineM           *figure.Input `key:"line length" kind:"length" min:"0.1 m" max:"20 m"`
	BoreM           *figure.Input `key:"line bore" kind:"length" min:"3 mm" max:"25 mm"`
	FilterPaPerFlow *figure.Input `key:"filter drop at 100 L/h" kind:"pressure" min:"0 bar" max:"2 bar"`
	ElbowsCount     *figure.Input `key:"elbows" kind:"ratio" min:"1" max:"40" doc:"tight elbows and unions in the feed, those at its ends counted"`
	ReturnM         *figure.Input `key:"return line length" kind:"length" min:"0.1 m" max:"20 m" doc:"asked for with a return at the rail"`
	ReturnBoreM     *figure.Input `key:"return line bore" kind:"length" min:"2 mm" max:"25 mm"`
	Drive           string        `key:"pump drive" words:"relay|pulse width" doc:"relay if left out; by pulse width the pump gets a share of the volts"`
}

// Place is a spot in the vehicle.
type Place struct {
	Pos    diag.Pos
	HotK   *figure.Input `key:"hot" kind:"temperature" min:"-20 °C" max:"200 °C" doc:"with the engine hot on the hottest day"`
	Ground string        `key:"ground" words:"body|engine" doc:"a ground bolt here, and what it is in"`
	// Landmark is printed beside grounds and splices, so that a person finds them.
	Landmark string `key:"landmark" doc:"what a person finds it by: behind the left headlamp"`
	Flexes   bool   `key:"flexes" doc:"moves against its surroundings, as a door does: no splice is put here"`
	Bulkhead bool   `key:"bulkhead" doc:"the loom goes through a bulkhead here"`
}

// Route is a way that wires take between two places.
type Route struct {
	Pos     diag.Pos
	From    buildfile.Ref `key:"from" need:"true"`
	To      buildfile.Ref `key:"to" need:"true"`
	LengthM *figure.Input `key:"length" kind:"length" need:"true" min:"1 cm" max:"20 m"`
	RoomM   *figure.Input `key:"room" opt:"true" kind:"length" min:"5 mm" max:"2 m" doc:"how wide the way is at its narrowest, as a grommet or a channel; left out, wide enough"`
}

// Device is one device, or one for every cylinder.
type Device struct {
	Pos  diag.Pos
	Part buildfile.Ref `key:"part" need:"true"`
	At   buildfile.Ref `key:"at" need:"true"`
	Each string        `key:"each" words:"cylinder" doc:"one for every cylinder, numbered"`
	// Reads goes before the part's own.
	Reads []string `key:"reads" words:"crank angle|cam angle|distributor angle|throttle angle|pedal angle|shaft speed|road speed|wheel speed|manifold pressure|outside pressure|oil pressure|fuel pressure|refrigerant pressure|air mass|air temperature|coolant temperature|oil temperature|gearbox temperature|exhaust temperature|liquid temperature|lambda|knock|ethanol share|selector|neutral|reverse|brake pedal|clutch pedal|crash|overdrive cancel" doc:"what it tells the controller, where its part does not say it"`
}

// Loom holds what the user fixes in the wiring.
type Loom struct {
	Pos     diag.Pos
	FuseBox buildfile.Ref                `key:"fuse box" doc:"the place of fuses and relays; where the battery is, if left out"`
	Main    *MainFuses                   `key:"main fuses" doc:"where the fuses of battery and alternator sit; on the battery's post, if left out"`
	Wires   []buildfile.Named[WireFix]   `key:"wires" doc:"by the device and terminal at the wire's end"`
	Feeds   []buildfile.Named[FeedFix]   `key:"feeds" doc:"by the group of supply"`
	Grounds []buildfile.Named[GroundFix] `key:"grounds" doc:"by the kind of ground"`
	Colours *catalogue.Colours           `key:"colours" doc:"of wires by what they do, IEC 60757 letters; what is left out keeps fettle's"`
	Pins    []buildfile.Named[PinFix]    `key:"pins" doc:"by the device and terminal"`
	Splices []buildfile.Named[SpliceFix] `key:"splices" doc:"by what is joined there: ignition, sensor ground"`
	Screens []buildfile.Named[ScreenFix] `key:"screens" doc:"by the device at the screened cable's end"`
}

// ScreenFix says how a cable's screen is grounded, where it is not at the control
// unit alone.
type ScreenFix struct {
	Pos      diag.Pos
	Grounded string `key:"grounded" need:"true" words:"control unit|device|both ends" doc:"where the screen is joined to ground"`
	Remark   string `key:"remark"`
}

// SpliceFix fixes where a splice sits.
type SpliceFix struct {
	Pos    diag.Pos
	At     buildfile.Ref `key:"at" need:"true" doc:"its place"`
	Remark string        `key:"remark"`
}

// MainFuses says where the fuses at the battery sit.
type MainFuses struct {
	Pos   diag.Pos
	At    buildfile.Ref `key:"at" doc:"their place; the battery's, if left out"`
	LeadM *figure.Input `key:"lead" opt:"true" kind:"length" min:"1 cm" max:"5 m" doc:"of the cable from the post to them; along the routes, if left out"`
}

// WireFix fixes a wire.
type WireFix struct {
	Pos    diag.Pos
	AreaM2 *figure.Input `key:"size" kind:"area" min:"0.2 mm²" max:"120 mm²"`
	Colour string        `key:"colour" doc:"IEC 60757 letters, as RD or RDWH"`
	Remark string        `key:"remark"`
}

// FeedFix fixes how a group of supply is fed.
type FeedFix struct {
	Pos    diag.Pos
	From   string        `key:"from" words:"30|15|75|50" doc:"the terminal it is fed from, DIN 72552"`
	Relay  string        `key:"relay" doc:"the relay whose contact feeds it"`
	FuseA  *figure.Input `key:"fuse" kind:"current" min:"1 A" max:"300 A"`
	AreaM2 *figure.Input `key:"size" kind:"area" min:"0.2 mm²" max:"120 mm²" doc:"of the wire from its fuse"`
	Colour string        `key:"colour" doc:"of its wires, IEC 60757 letters, as RD or RDWH"`
	Remark string        `key:"remark"`
}

// GroundFix fixes where a kind of ground returns.
type GroundFix struct {
	Pos    diag.Pos
	Joins  string `key:"joins" words:"controller|power|head|body" doc:"what it is joined to"`
	Remark string `key:"remark"`
}

// PinFix fixes a controller pin.
type PinFix struct {
	Pos diag.Pos
	Pin string `key:"pin" need:"true" doc:"connector and way, as A3"`
}

// Waiver accepts a finding.
type Waiver struct {
	Pos     diag.Pos
	Rule    string `key:"rule" need:"true"`
	Subject string `key:"subject" doc:"the thing it is about; empty waives the rule everywhere"`
	Reason  string `key:"reason" need:"true"`
}
