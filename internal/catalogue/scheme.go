package catalogue

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// Scheme is how fettle wires a vehicle when the user fixes nothing: the groups
// of fused supply, the relays that switch them, and the figures of ordinary
// practice that sizing leans on.
type Scheme struct {
	Pos     diag.Pos
	Source  string                        `key:"source" need:"true"`
	Feeds   []buildfile.Named[FeedGroup]  `key:"feeds" need:"true"`
	Relays  []buildfile.Named[RelayGroup] `key:"relays" need:"true"`
	Colours Colours                       `key:"colours" need:"true" doc:"of wires, by what they do"`
	Inrush  []buildfile.Named[Inrush]     `key:"inrush" need:"true" doc:"by the kind of part; others have none"`

	ContactOhm  *figure.Input `key:"terminal contact" kind:"resistance" need:"true" doc:"one crimped and mated terminal"`
	BoltOhm     *figure.Input `key:"ground bolt" kind:"resistance" need:"true" doc:"ring terminal on bare metal"`
	BodyOhm     *figure.Input `key:"body" kind:"resistance" need:"true" doc:"between two points of a steel body"`
	FuseFrac    *figure.Input `key:"fuse loading" kind:"ratio" need:"true" doc:"the share of its rating a fuse may carry all the time"`
	SlackFrac   *figure.Input `key:"length allowance" kind:"ratio" need:"true" doc:"added to a measured route"`
	PlaceK      *figure.Input `key:"place temperature" kind:"temperature" need:"true" doc:"of a place whose temperature is not stated"`
	GroundDropV *figure.Input `key:"ground drop" kind:"voltage" need:"true" doc:"the most a device's return may lose"`
	SpliceK     *figure.Input `key:"splice temperature" kind:"temperature" need:"true" doc:"the hottest place that a splice is put in while another will do"`
	TailM       *figure.Input `key:"tail" kind:"length" need:"true" doc:"from the end of a route to a device's plug"`
	ScreenM     *figure.Input `key:"screen" kind:"length" need:"true" doc:"thickness of a screened cable's screen and sheath"`
	ApartM      *figure.Input `key:"apart" kind:"length" need:"true" doc:"from the wires of injectors and coils to those of crank, cam and knock"`
}

// FeedGroup is a group of devices behind one fuse.
type FeedGroup struct {
	Pos    diag.Pos
	Is     string        `key:"is" need:"true" doc:"what it feeds"`
	From   string        `key:"from" words:"30|15|75|50" doc:"the terminal it comes from, DIN 72552"`
	Relay  string        `key:"relay" doc:"the relay whose contact feeds it; then From does not count"`
	DropV  *figure.Input `key:"drop" kind:"voltage" need:"true" doc:"the most its supply side may lose"`
	Splice string        `key:"splice" doc:"the place its branch divides at; empty: at the first device"`
}

// RelayGroup is a relay and what switches it.
type RelayGroup struct {
	Pos   diag.Pos
	Is    string        `key:"is" need:"true"`
	Part  buildfile.Ref `key:"part" need:"true"`
	Feed  string        `key:"coil from" need:"true" doc:"the feed group of its coil, or 30"`
	Needs string        `key:"driven by" need:"true" doc:"what the controller's pin must be able to do"`
	On    []string      `key:"on" words:"parked|key on|cranking|idle|wet night|cruise|full power|hot restart|after-run"`
}

// Cable is one standard conductor.
type Cable struct {
	Pos      diag.Pos
	AreaM2   *figure.Input `key:"area" kind:"area" need:"true"`
	OhmPerM  *figure.Input `key:"resistance" kind:"resistance per length" need:"true" doc:"at 20 °C"`
	OverallM *figure.Input `key:"overall diameter" kind:"length" need:"true"`
}

// Insulation is what a conductor's cover stands.
type Insulation struct {
	Pos    diag.Pos
	LimitK *figure.Input `key:"limit" kind:"temperature" need:"true" doc:"the conductor's limit all the time"`
	ShortK *figure.Input `key:"short time" kind:"temperature" need:"true" doc:"its limit for 5 s, in a short circuit"`
}

// Inrush is what a kind of part draws as it is switched on, as a rectangle of the
// same I²t.
type Inrush struct {
	Pos        diag.Pos
	TimesRatio *figure.Input `key:"times" kind:"ratio" need:"true" min:"1" max:"30" doc:"of the current it settles at"`
	LastsS     *figure.Input `key:"lasts" kind:"time" need:"true" min:"0.1 ms" max:"10 s"`
}

// Cables is the table of conductors, smallest first.
type Cables struct {
	Pos    diag.Pos
	Source string `key:"source" need:"true"`
	// Insulations stand in the order of their limits, the coolest first.
	Insulations []buildfile.Named[Insulation] `key:"insulations" need:"true"`
	Sizes       []buildfile.Named[Cable]      `key:"sizes" need:"true"`
	// OldSizes are those of old looms and other standards: recognised, never chosen.
	OldSizes []buildfile.Named[Cable] `key:"old sizes"`
}
