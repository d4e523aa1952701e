package calibrate

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// Setting is a single value or word that a controller is given beside its tables.
type Setting struct {
	Name  string        // "prime"
	Group string        // "fuel pump"
	In    *figure.Input // the value with its spread; nil for a word
	Word  string
	Why   string // what it rests on
	// Gate closes the first firing until the value has been verified on the
	// vehicle.
	Gate bool
	// Verified says that it was, Key is its word for it in the file, under "verified".
	Verified bool
	Key      string
	// At is where the file states the value; nil for one that is not stated.
	At []string
}

// number makes a setting of a value in a unit.
func number(group, name string, value, sd float64, unit, why string) Setting {
	si, err := quantity.ToSI(value, unit, kinds[unit])
	up, err2 := quantity.ToSI(value+sd, unit, kinds[unit])
	if err != nil || err2 != nil {
		panic("setting " + name + ": " + err.Error()) // a unit that is not ours
	}
	return Setting{Group: group, Name: name, Why: why, In: own(group+"/"+name, si, up-si, unit, why)}
}

// gated closes the first firing until a setting is verified.
func gated(s Setting, key string) Setting {
	s.Gate, s.Key = true, key
	return s
}

// Value is the setting as it is read, in its unit.
func (s Setting) Value() (text, unit, sd string) {
	if s.In == nil {
		return s.Word, "", ""
	}
	at := func(si float64) float64 {
		if s.In.Unit == "" {
			return si
		}
		v, _ := quantity.FromSI(si, s.In.Unit)
		return v
	}
	v := at(s.In.SI)
	if s.In.SdSI > 0 {
		sd = strconv.FormatFloat(at(s.In.SI+s.In.SdSI)-v, 'g', 3, 64)
	}
	return strconv.FormatFloat(math.Round(1000*v)/1000, 'f', -1, 64), s.In.Unit, sd
}

// SettingsCSV writes the settings as their file.
func SettingsCSV(list []Setting) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"group", "setting", "value", "unit", "one standard deviation", "first fire", "rests on"}}
	for _, s := range list {
		value, unit, sd := s.Value()
		rows = append(rows, []string{s.Group, s.Name, value, unit, sd, s.GateSays(), s.Why})
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("write settings: %w", err)
	}
	return b.Bytes(), nil
}

// KnockHz returns the frequency of the first transverse mode of the gas in a
// cylinder, which knock rings at.
//
//	f = 1.841 c/(π B)
//
// where 1.841 is the first zero of the derivative of the Bessel function J₁ and c the speed of sound in the burned gas.
//
// Valid: bore 0.03 … 0.3 m, speed of sound 600 … 1200 m/s; outside an error is returned.
// Accuracy: 5 %, that of the speed of sound.
// Source: Draper, NACA Report 493, 1935; 950 m/s common practice.
// Errors: a value out of range.
func KnockHz(boreM, soundMPerS float64) (float64, error) {
	if !(boreM >= 0.03 && boreM <= 0.3) {
		return 0, fmt.Errorf("bore %g m is outside 0.03 … 0.3 m", boreM)
	}
	if !(soundMPerS >= 600 && soundMPerS <= 1200) {
		return 0, fmt.Errorf("speed of sound %g m/s is outside 600 … 1200 m/s", soundMPerS)
	}
	return 1.841 * soundMPerS / (math.Pi * boreM), nil
}

const burnedSoundMPerS, burnedSoundSd = 950.0, 40.0

// Settings lists the single values, grouped; it refuses an engine that can't be.
func Settings(in Input) ([]Setting, error) {
	e, f := &in.Engine, &in.Fitted
	hz, err := KnockHz(e.Geometry.BoreM, burnedSoundMPerS)
	if err != nil {
		return nil, err
	}
	const cp = "common practice"
	out := []Setting{
		gated(Setting{Group: "trigger", Name: "crank wheel", Word: word(f.CrankWheel, "not stated"), Why: "teeth less missing ones, counted on the wheel", At: []string{"engine", "crank wheel"}}, "crank wheel"),
		gated(Setting{Group: "trigger", Name: "cam wheels", Word: word(strings.Join(f.CamWheels, ", "), "not stated"), Why: "windows, counted on the wheel"}, "cam wheels"),
	}
	out = append(out, f.triggerSettings()...)
	out = append(out, []Setting{
		gated(Setting{Group: "spark", Name: "firing order", Word: word(f.FiringOrder, "not stated"), Why: "the file; each coil is fired alone with its lead on a tester"}, "firing order"),
		number("spark", "cranking spark, at most", kickRad/degree, 1.5, "°", "against kicking back at the starter ("+cp+", 5 … 10°); a warm engine takes what table spark holds below idle speed, later where it would knock"),
		number("fuel pump", "prime", 2.5, 0, "s", cp+": 2 … 3 s at key on, once"),
		{Group: "fuel pump", Name: "runs", Word: "with a crank signal only", Why: cp},
		number("fuel pump", "stops after the last crank signal", 1, 0, "s", cp+": within 2 s"),
		{Group: "fuel pump", Name: "inertia switch in its feed", Word: word(f.Inertia, "not stated"), Why: cp + ": a crash must stop it without the controller's help"},
		number("starting", "flood clear above pedal", 80, 0, "%", cp+": no fuel while the starter turns and the pedal is down"),
		number("starting", "hot restart fuel, factor", hotRatio, hotSd, "", cp+": vapour in the rail above 80 °C within 30 min of stopping"),
		number("starting", "hot restart fuel, falls to 1/e in", hotFadeS, 5, "s", cp),
		number("starting", "running above", math.Round(runningAbove(e.IdleRadPerS)/rpm), 0, "rpm", cp+": cranking rules end"),
		{Group: "injection", Name: "reference of the end", Word: "firing top of the same cylinder, ° before it", Why: "definition of table injection-end"},
		number("injection", "least pulse without dead time", 0.5, 0.1, "ms", cp+": below it the needle does not open fully"),
		number("idle", "air added for the air-con compressor", tenths(3000/0.25/e.Fuel.HeatingJPerKg*e.Fuel.StoichRatio*1e3), tenths(900/0.25/e.Fuel.HeatingJPerKg*e.Fuel.StoichRatio*1e3), "g/s", "3 kW at a quarter of the fuel's heat (from memory); given 0.3 s before the clutch"),
		number("idle", "air added for a fan", tenths(500/0.25/e.Fuel.HeatingJPerKg*e.Fuel.StoichRatio*1e3), tenths(150/0.25/e.Fuel.HeatingJPerKg*e.Fuel.StoichRatio*1e3), "g/s", "300 W through an alternator of 0.6"),
		number("idle", "spark held back as reserve", 8, 2, "°", cp+": room for idle spark to work both ways"),
	}...)
	out = append(out, f.throttleSettings()...)
	out = append(out, limitSettings(&in)...)
	out = append(out, number("knock", "frequency", math.Round(hz/10)/100, math.Round(hz*burnedSoundSd/burnedSoundMPerS/10)/100, "kHz", fmt.Sprintf("first transverse mode of %s, %s in burned gas", quantity.Format(e.Geometry.BoreM, "mm", 0), quantity.Format(burnedSoundMPerS, "m/s", 0))),
		number("knock", "window opens after the firing top", 5, 3, "°", cp),
		number("knock", "window closes after the firing top", 60, 10, "°", cp),
		number("knock", "taken off at once", 4, 0, "°", cp+": 3 … 5°, given back at 1° in 2 s"))
	out = append(out, f.camSettings()...)
	f.verify(out)
	return out, nil
}

func word(w, otherwise string) string {
	if w == "" {
		return otherwise
	}
	return w
}

func tenths(v float64) float64 { return math.Round(10*v) / 10 }

func (f *Fitted) throttleSettings() []Setting {
	if !f.Electronic {
		return nil
	}
	const cp = "common practice"
	return []Setting{
		number("throttle", "two tracks apart by at most", 5, 0, "%", cp+": pedal and plate; more for 0.1 s and the plate is let go"),
		number("throttle", "plate off its target by at most", 8, 0, "%", cp+": for 0.3 s; then its driver is switched off and the springs hold"),
		gated(number("throttle", "at rest on its springs", 7, 2, "%", cp+": the plate stands a little open, for limping home"), "throttle at rest"),
		gated(Setting{Group: "throttle", Name: "end stops", Word: "learned by the controller", Why: "at key on, engine standing"}, "throttle end stops"),
		number("throttle", "widest on the first drives", 100, 0, "%", "the load cap holds the manifold's pressure"),
		{Group: "throttle", Name: "brake and pedal together", Word: "idle after 0.5 s", Why: cp},
	}
}

func (f *Fitted) camSettings() []Setting {
	if f.IntakeRad == 0 && f.ExhaustRad == 0 {
		return nil
	}
	const cp = "common practice"
	out := []Setting{
		number("cams", "parked until oil pressure", 150, 0, "kPa", cp+": 1 … 2 bar; a phaser without oil rattles at its stop"),
		number("cams", "parked below oil or coolant", 40, 0, "°C", cp+": thick oil moves them late"),
		number("cams", "parked above oil", 130, 0, "°C", cp),
		number("cams", "off target by at most", 8, 0, "°", cp+": for 1 s, then both parked until the key goes off"),
	}
	window := func(side string, rad float64) {
		if rad > 0 {
			out = append(out, gated(number("cams", side+" phaser's travel", math.Round(rad/degree), 0, "°", "the file or its archetype; the cam windows must hold over all of it"), side+" phaser"))
			out = append(out, f.camWindow(side, rad)...)
		}
	}
	window("intake", f.IntakeRad)
	window("exhaust", f.ExhaustRad)
	if f.ChangedCam {
		out = append(out, Setting{Group: "cams", Name: "piston to valve clearance of the changed cam", Word: word(f.Clearance, "not measured"), Why: "measured over the whole travel before the engine is turned; stated with the cam", Gate: true, Verified: f.Clearance == "measured"})
	}
	return out
}
