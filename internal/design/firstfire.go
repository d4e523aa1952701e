package design

import (
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// Trigger is how the controller reads the crankshaft and the cams.
type Trigger struct {
	Pos       diag.Pos
	OffsetRad *figure.Input `key:"offset" kind:"angle" min:"0°" max:"720°" doc:"of the crankshaft, from the reference tooth to the firing top of cylinder 1"`
	Edge      string        `key:"edge" words:"falling|rising" doc:"the edge of the signal that is timed"`
	Polarity  string        `key:"polarity" words:"right way round|turned" doc:"of an inductive sensor's two wires"`
	DelayS    *figure.Input `key:"input delay" kind:"time" min:"0 µs" max:"500 µs" doc:"between the tooth and the controller's seeing it"`
	PhaseRule string        `key:"phase rule" doc:"what tells the firing turn of cylinder 1 from the other"`
}

// Verified is what was proven on the vehicle of the values that close the first
// firing. What is left out is not proven.
type Verified struct {
	Pos           diag.Pos
	CrankWheel    bool `key:"crank wheel" doc:"its teeth and gap seen on the sensor's signal"`
	CamWheels     bool `key:"cam wheels" doc:"their windows seen on the sensors' signals"`
	Offset        bool `key:"trigger offset" doc:"with a strobe on a locked spark"`
	Edge          bool `key:"trigger edge" doc:"the strobe's mark stands still with speed"`
	Polarity      bool `key:"trigger polarity" doc:"of an inductive sensor, on its signal"`
	InputDelay    bool `key:"input delay" doc:"the strobe's mark does not wander with speed"`
	PhaseRule     bool `key:"phase rule" doc:"the firing turn of cylinder 1 is known"`
	FiringOrder   bool `key:"firing order" doc:"each coil was fired alone"`
	ThrottleRest  bool `key:"throttle at rest" doc:"where its springs hold the plate"`
	ThrottleStops bool `key:"throttle end stops" doc:"learned, engine standing"`
	BoostCut      bool `key:"boost cut" doc:"tried with a lowered target"`
	IntakePhaser  bool `key:"intake phaser" doc:"cam windows seen over its whole travel"`
	ExhaustPhaser bool `key:"exhaust phaser" doc:"cam windows seen over its whole travel"`
}

// verifiedWhat refuses what is said to be verified and is stated nowhere.
func (d *Design) verifiedWhat() (ds []diag.Diagnostic) {
	v, t := d.File.Verified, d.File.Trigger
	if v == nil {
		return nil
	}
	if t == nil {
		t = &Trigger{}
	}
	for _, c := range []struct {
		said, stated bool
		key          string
		at           [2]string
	}{
		{v.CrankWheel, d.File.Engine.CrankWheel != "", "crank wheel", [2]string{"engine", "crank wheel"}},
		{v.Offset, t.OffsetRad != nil, "trigger offset", [2]string{"trigger", "offset"}},
		{v.Edge, t.Edge != "", "trigger edge", [2]string{"trigger", "edge"}},
		{v.Polarity, t.Polarity != "", "trigger polarity", [2]string{"trigger", "polarity"}},
		{v.InputDelay, t.DelayS != nil, "input delay", [2]string{"trigger", "input delay"}},
		{v.PhaseRule, t.PhaseRule != "", "phase rule", [2]string{"trigger", "phase rule"}},
	} {
		if c.said && !c.stated {
			ds = append(ds, diag.Errorf(d.Place("verified", c.key), "verified-unstated", "%q is said to be verified, and %q is stated nowhere", c.key, c.at[0]+" > "+c.at[1]).
				WithHint("state the value that was found, then say that it is verified"))
		}
	}
	return ds
}
