package calibrate

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// Present is a moment that a pulse is asked for, as the controller's sensors
// would read it.
type Present struct {
	SpeedRadPerS float64
	ManifoldPa   float64 // absolute
	CoolantK     float64
	ChargeK      float64
	BatteryV     float64
	SinceS       float64 // since the engine began to run by itself
	RisePaPerS   float64 // of the manifold's pressure
	HotStart     bool    // stood hot, and started again within half an hour
}

// read is one value of a moment: how it is asked for and what is allowed.
type read struct {
	key, Name, Unit string
	low, high       float64 // in the unit
	of              func(p *Present) *float64
}

// reads are the values of a moment in their order.
var reads = []read{
	{"n", "engine speed", "rpm", 50, 15000, func(p *Present) *float64 { return &p.SpeedRadPerS }},
	{"p", "manifold pressure, absolute", "kPa", 10, 450, func(p *Present) *float64 { return &p.ManifoldPa }},
	{"c", "coolant temperature", "°C", -40, 130, func(p *Present) *float64 { return &p.CoolantK }},
	{"a", "charge temperature", "°C", -40, 150, func(p *Present) *float64 { return &p.ChargeK }},
	{"v", "battery", "V", 6, 17, func(p *Present) *float64 { return &p.BatteryV }},
	{"s", "since the start", "s", 0, 86400, func(p *Present) *float64 { return &p.SinceS }},
	{"r", "manifold rises by", "kPa/s", -2000, 2000, func(p *Present) *float64 { return &p.RisePaPerS }},
}

// Asked is a value of a moment as a form asks for it.
type Asked struct{ Key, Name, Unit, Value, Allowed string }

// Asked lists the values of a moment in their order.
func (p Present) Asked() []Asked {
	var out []Asked
	for _, r := range reads {
		out = append(out, Asked{r.key, r.Name, r.Unit, r.text(&p), fmt.Sprintf("%g … %g %s", r.low, r.high, r.Unit)})
	}
	return out
}

// text is a value in its unit, to a tenth.
func (r read) text(p *Present) string {
	x, err := quantity.FromSI(*r.of(p), r.Unit)
	if err != nil {
		panic("present: " + err.Error()) // a unit of our own list
	}
	if x = tenths(x); x == 0 {
		x = 0 // no minus before it
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// Key names a moment, as it stands in IDs and addresses.
func (p Present) Key() string {
	var out []string
	for _, r := range reads {
		out = append(out, r.key+r.text(&p))
	}
	if p.HotStart {
		out = append(out, "hot")
	}
	return strings.Join(out, "_")
}

// Set takes a value, by its key or its name, as it was typed: a number in the unit
// that was asked for.
func (p *Present) Set(key, text string) error {
	var names []string
	for _, r := range reads {
		names = append(names, r.Name)
		if key != r.key && key != r.Name {
			continue
		}
		text = strings.ReplaceAll(strings.TrimSpace(text), "−", "-")
		x, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, r.Unit)), 64)
		if err != nil || !(x >= r.low && x <= r.high) {
			return fmt.Errorf("%s %q: %g … %g %s is allowed", r.Name, text, r.low, r.high, r.Unit)
		}
		*r.of(p) = r.si(tenths(x))
		return nil
	}
	if near, ok := diag.Nearest(key, names); ok {
		return fmt.Errorf("%q is no value of a moment; did you mean %q?", key, near)
	}
	return fmt.Errorf("%q is no value of a moment; its values are: %s", key, strings.Join(names, "; "))
}

func (r read) si(x float64) float64 {
	one, _ := quantity.FromSI(1, r.Unit)
	zero, _ := quantity.FromSI(0, r.Unit)
	return (x - zero) / (one - zero)
}

// ParsePresent reads the name of a moment.
func ParsePresent(key string) (p Present, err error) {
	key, p.HotStart = strings.CutSuffix(key, "_hot")
	parts := strings.Split(key, "_")
	if len(parts) != len(reads) {
		return p, fmt.Errorf("%q names no moment", key)
	}
	for i, r := range reads {
		text, ok := strings.CutPrefix(parts[i], r.key)
		if !ok {
			return p, fmt.Errorf("%q names no moment", key)
		}
		if err := p.Set(r.key, text); err != nil {
			return p, err
		}
	}
	return p, nil
}

// leaf is a value of the moment as an input.
func (r read) leaf(p *Present) *figure.Input {
	in := &figure.Input{ID: figure.ID("pulse/" + p.Key() + "/moment/" + r.Name), SI: *r.of(p), Unit: r.Unit, Source: "the moment that was asked for", Origin: figure.Stated}
	in.Seal()
	return in
}

// warmSinceS is how long a warm engine has run, so that nothing is left of its start.
const warmSinceS = 600

// PresentOf is the moment of a solved state; ok is false where the engine does
// not turn or the state did not settle.
func PresentOf(s *vehicle.State) (p Present, ok bool) {
	turns := design.Runs(s.Name) || design.Cranks(s.Name)
	if !turns || !s.Ended.OK || !(s.Point.ManifoldPa > 0 && s.Point.SpeedRadPerS > 0) {
		return p, false
	}
	volts, known := s.BatteryV()
	if !known {
		return p, false
	}
	p = Present{
		SpeedRadPerS: s.Point.SpeedRadPerS, ManifoldPa: s.Point.ManifoldPa, BatteryV: volts,
		CoolantK: s.CoolantK(), ChargeK: s.ChargeK(), SinceS: warmSinceS, HotStart: s.Name == design.HotRestart,
	}
	if design.Cranks(s.Name) {
		p.SinceS = 0
	}
	for _, r := range reads { // as the form would have it
		*r.of(&p) = r.si(math.Max(r.low, math.Min(r.high, mustFloat(r.text(&p)))))
	}
	return p, true
}

func mustFloat(s string) float64 {
	v, _ := strconv.ParseFloat(s, 64) // our own text
	return v
}
