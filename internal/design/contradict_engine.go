package design

import (
	"math"
	"strconv"

	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// engineContradictions finds what the engine's cams, banks and charger say
// against each other. Only what the file states is held: an archetype's values
// stand in for it and may differ.
func (d *Design) engineContradictions() []diag.Diagnostic {
	ds := append(d.oneBank(), d.cooler()...)
	ds = append(ds, d.verifiedWhat()...)
	if d.Tree.Find("engine", "cams") == nil {
		return ds
	}
	for i := range d.File.Engine.Cams {
		ds = append(ds, d.camAgainstEngine(i)...)
	}
	return ds
}

// oneBank refuses what only an engine of two banks has.
func (d *Design) oneBank() []diag.Diagnostic {
	e := &d.File.Engine
	if d.Tree.Find("engine", "layout") == nil || e.Layout != "inline" {
		return nil
	}
	layout := d.Place("engine", "layout")
	var ds []diag.Diagnostic
	if stated(e.BankAngleRad) {
		ds = append(ds, diag.Errorf(e.BankAngleRad.Pos, "bank", "an inline engine has no bank angle; %s is stated", e.BankAngleRad.Literal).
			WithRelated(layout, "the layout").WithHint("leave %q out, or state the layout as V or flat", "bank angle"))
	}
	if d.Tree.Find("engine", "cams") == nil {
		return ds
	}
	for i, k := range e.Cams {
		if k.Bank == 2 {
			ds = append(ds, diag.Errorf(d.Place("engine", "cams", strconv.Itoa(i), "bank"), "bank", "an inline engine has one bank; the %s cam is said to be in bank 2", k.Moves).
				WithRelated(layout, "the layout").WithHint("leave %q out, or state the layout as V or flat", "bank"))
		}
	}
	return ds
}

// cooler holds the place of the charge temperature sensor against the cooler.
func (d *Design) cooler() []diag.Diagnostic {
	b := d.File.Boost
	n := d.Tree.Find("boost", "charge cooler")
	if b == nil || b.Cooler || n == nil || b.Sensor != "after the cooler" && b.Sensor != "before the cooler" {
		return nil
	}
	return []diag.Diagnostic{
		diag.Errorf(d.Place("boost", "charge temperature sensor"), "cooler", "the charge temperature sensor is said to be %s, and there is no charge cooler", b.Sensor).
			WithRelated(n.Pos, "the charge cooler").WithHint("state the cooler, or where the sensor is without one"),
	}
}

func stated(in *figure.Input) bool { return in != nil && !in.Assumed() }

// agreeRad and agreeM are how far a cam's card may lie from what is said of the
// engine: cards round to a degree, at another lift, and to a tenth of a millimetre.
const (
	agreeRad = 6 * math.Pi / 180
	agreeM   = 0.25e-3
)

// camAgainstEngine holds an intake cam's card against the valve timing, lift and
// phaser that are stated for the engine.
//
//	opens = duration/2 − centreline,  closes = duration/2 + centreline − 180°
func (d *Design) camAgainstEngine(i int) []diag.Diagnostic {
	e, k := &d.File.Engine, &d.File.Engine.Cams[i]
	if k.Moves == "exhaust" {
		return nil
	}
	var ds []diag.Diagnostic
	hold := func(what string, engine, card *figure.Input, makes, within float64, unit string) {
		if !stated(engine) || card == nil || math.Abs(engine.SI-makes) <= math.Max(within, 2*engine.SdSI) {
			return
		}
		ds = append(ds, diag.Errorf(engine.Pos, "cam-card", "%s %s disagrees with the %s cam, which makes it %s", what, engine.Literal, k.Moves, quantity.Format(makes, unit, 3)).
			WithRelated(card.Pos, "the %s cam", k.Moves).WithHint("take one of the two out, or measure again"))
	}
	if k.DurationRad != nil && k.CentreRad != nil && k.Moves == "intake" {
		hold("intake opens", e.IntakeOpenRad, k.DurationRad, k.DurationRad.SI/2-k.CentreRad.SI, agreeRad, "°")
		hold("intake closes", e.IntakeCloseRad, k.DurationRad, k.DurationRad.SI/2+k.CentreRad.SI-math.Pi, agreeRad, "°")
	}
	if k.LiftM != nil {
		hold("intake lift", e.IntakeLiftM, k.LiftM, k.LiftM.SI, agreeM, "mm")
	}
	if k.TravelRad != nil {
		hold("intake phaser", e.PhaserRad, k.TravelRad, k.TravelRad.SI, agreeRad, "°")
	}
	return ds
}
