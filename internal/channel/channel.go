// Package channel holds what is recorded over time: series of samples, each
// with what it measures, its name and its unit, and the plain log file that
// several of them share.
//
// Conventions: values are coherent SI in memory and in the series' unit in the
// file; time is in seconds, float64, from the log's own start and never falls.
// Every series has its own times, so that channels of different rates stand
// side by side: where a channel has no sample at a time, the cell is empty. A
// heading names its unit, "coolant temperature [°C]". Start reading at
// [Series], then [Write] and [Read].
package channel

import (
	"fmt"
	"slices"

	"fettle/internal/quantity"
)

// Kind says what a series measures, whatever its name in some file.
type Kind string

// The kinds of channel.
const (
	EngineSpeed      Kind = "engine speed"
	RoadSpeed        Kind = "road speed"
	ManifoldPressure Kind = "manifold pressure"
	BoostPressure    Kind = "charge pressure"
	AmbientPressure  Kind = "ambient pressure"
	ThrottleAngle    Kind = "throttle opening"
	Pedal            Kind = "pedal"
	Brake            Kind = "brake"
	CoolantTemp      Kind = "coolant temperature"
	OilTemp          Kind = "oil temperature"
	ChargeTemp       Kind = "charge temperature"
	ExhaustTemp      Kind = "exhaust temperature"
	Lambda           Kind = "lambda"
	LambdaTarget     Kind = "lambda target"
	LambdaTrim       Kind = "lambda trim"
	Pulse            Kind = "injector pulse"
	Duty             Kind = "injector duty"
	Spark            Kind = "spark advance"
	Dwell            Kind = "dwell"
	KnockLevel       Kind = "knock level"
	KnockRetard      Kind = "knock retard"
	Battery          Kind = "battery voltage"
	OilPressure      Kind = "oil pressure"
	FuelPressure     Kind = "fuel pressure"
	IntakeCam        Kind = "intake cam advance"
	IntakeCamTarget  Kind = "intake cam target"
	ExhaustCam       Kind = "exhaust cam retard"
	ExhaustCamTarget Kind = "exhaust cam target"
	IdleDuty         Kind = "idle valve duty"
	AirFlow          Kind = "air flow"
	FuelFlow         Kind = "fuel flow"
	Gear             Kind = "gear"
	Status           Kind = "status"
)

// kinds give each kind its quantity and the unit it is read off in.
var kinds = map[Kind]struct {
	of   quantity.Kind
	unit string
}{
	EngineSpeed: {quantity.RotationalSpeed, "rpm"}, RoadSpeed: {quantity.Speed, "km/h"},
	ManifoldPressure: {quantity.AbsolutePressure, "kPa"}, BoostPressure: {quantity.AbsolutePressure, "kPa"}, AmbientPressure: {quantity.AbsolutePressure, "kPa"},
	ThrottleAngle: {quantity.Ratio, "%"}, Pedal: {quantity.Ratio, "%"}, Brake: {quantity.Ratio, "%"},
	CoolantTemp: {quantity.Temperature, "°C"}, OilTemp: {quantity.Temperature, "°C"}, ChargeTemp: {quantity.Temperature, "°C"}, ExhaustTemp: {quantity.Temperature, "°C"},
	Lambda: {quantity.Ratio, ""}, LambdaTarget: {quantity.Ratio, ""}, LambdaTrim: {quantity.Ratio, "%"},
	Pulse: {quantity.Time, "ms"}, Duty: {quantity.Ratio, "%"}, Spark: {quantity.Angle, "°"}, Dwell: {quantity.Time, "ms"},
	KnockLevel: {quantity.Ratio, ""}, KnockRetard: {quantity.Angle, "°"}, Battery: {quantity.Voltage, "V"},
	OilPressure: {quantity.Pressure, "kPa"}, FuelPressure: {quantity.Pressure, "kPa"},
	IntakeCam: {quantity.Angle, "°"}, IntakeCamTarget: {quantity.Angle, "°"}, ExhaustCam: {quantity.Angle, "°"}, ExhaustCamTarget: {quantity.Angle, "°"}, IdleDuty: {quantity.Ratio, "%"},
	AirFlow: {quantity.MassFlow, "g/s"}, FuelFlow: {quantity.MassFlow, "g/s"}, Gear: {quantity.Count, ""}, Status: {quantity.Count, ""},
}

// Unit is the unit that a kind is usually read off in; ok is false for a kind
// that is not known.
func (k Kind) Unit() (unit string, ok bool) {
	d, ok := kinds[k]
	return d.unit, ok
}

// Quantity is what a kind measures.
func (k Kind) Quantity() (q quantity.Kind, ok bool) {
	d, ok := kinds[k]
	return d.of, ok
}

// Kinds lists every kind, sorted.
func Kinds() []Kind {
	out := make([]Kind, 0, len(kinds))
	for k := range kinds {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// Series is one channel of a log.
type Series struct {
	Kind  Kind
	Name  string // as the log calls it
	Unit  string // that the log gives it in
	TimeS []float64
	SI    []float32
}

// New begins a series under its kind's own name and unit.
func New(k Kind) Series {
	u, _ := k.Unit()
	return Series{Kind: k, Name: string(k), Unit: u}
}

// Add appends a sample.
func (s *Series) Add(timeS, si float64) {
	s.TimeS = append(s.TimeS, timeS)
	s.SI = append(s.SI, float32(si))
}

// Check returns the first thing wrong with a series.
func (s *Series) Check() error {
	q, ok := s.Kind.Quantity()
	switch {
	case !ok:
		return fmt.Errorf("channel %q is of no known kind: %q", s.Name, string(s.Kind))
	case s.Name == "":
		return fmt.Errorf("a channel of %s has no name", s.Kind)
	case len(s.TimeS) != len(s.SI):
		return fmt.Errorf("channel %q has %d times and %d values", s.Name, len(s.TimeS), len(s.SI))
	}
	if _, err := quantity.ToSI(1, s.Unit, q); err != nil {
		return fmt.Errorf("channel %q: %w", s.Name, err)
	}
	for i := 1; i < len(s.TimeS); i++ {
		if !(s.TimeS[i] > s.TimeS[i-1]) {
			return fmt.Errorf("channel %q: time %g s follows %g s; times must rise", s.Name, s.TimeS[i], s.TimeS[i-1])
		}
	}
	return nil
}

// At is the last value at or before a time; ok is false before the first.
func (s *Series) At(timeS float64) (si float64, ok bool) {
	i, found := slices.BinarySearch(s.TimeS, timeS)
	if !found {
		i--
	}
	if i < 0 || len(s.SI) == 0 {
		return 0, false
	}
	return float64(s.SI[i]), true
}

// Note is one line at the head of a log, "# key: text".
type Note struct{ Key, Text string }

// Log is what one file holds.
type Log struct {
	Notes  []Note
	Series []Series
}

// Of returns the first series of a kind, or nil.
func (l *Log) Of(k Kind) *Series {
	for i := range l.Series {
		if l.Series[i].Kind == k {
			return &l.Series[i]
		}
	}
	return nil
}

// Note returns what a key says, or nothing.
func (l *Log) Note(key string) string {
	for _, n := range l.Notes {
		if n.Key == key {
			return n.Text
		}
	}
	return ""
}
