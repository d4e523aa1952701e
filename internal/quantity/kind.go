package quantity

// Kind says what a quantity measures, in the words of the trade.
type Kind string

// The kinds.
const (
	Voltage               Kind = "voltage"
	Current               Kind = "current"
	CurrentDensity        Kind = "current density"
	Resistance            Kind = "resistance"
	ResistancePerLength   Kind = "resistance per length"
	Power                 Kind = "power"
	Energy                Kind = "energy"
	Capacity              Kind = "capacity"
	Inductance            Kind = "inductance"
	Capacitance           Kind = "capacitance"
	Length                Kind = "length"
	Area                  Kind = "area"
	CableSize             Kind = "cable size"
	Volume                Kind = "volume"
	Mass                  Kind = "mass"
	MassPerLength         Kind = "mass per length"
	Force                 Kind = "force"
	Torque                Kind = "torque"
	Inertia               Kind = "moment of inertia"
	Stiffness             Kind = "stiffness"
	TorsionalStiffness    Kind = "torsional stiffness"
	TorsionalDamping      Kind = "torsional damping"
	Pressure              Kind = "pressure"          // gauge, or a difference
	AbsolutePressure      Kind = "absolute pressure" // above vacuum
	Temperature           Kind = "temperature"
	TemperatureDifference Kind = "temperature difference"
	Time                  Kind = "time"
	TimeConstant          Kind = "time constant"
	Angle                 Kind = "angle"
	RotationalSpeed       Kind = "rotational speed"
	Speed                 Kind = "speed"
	Acceleration          Kind = "acceleration"
	VolumeFlow            Kind = "volume flow"
	MassFlow              Kind = "mass flow"
	Density               Kind = "density"
	DynamicViscosity      Kind = "viscosity"
	KinematicViscosity    Kind = "kinematic viscosity"
	Frequency             Kind = "frequency"
	PulsesPerLength       Kind = "pulses per distance"
	Ratio                 Kind = "ratio" // a plain number or per cent
	Count                 Kind = "count" // a whole number
	SpecificConsumption   Kind = "specific consumption"
	RoadConsumption       Kind = "road consumption"
	EnergyPerMass         Kind = "energy per mass"
	HeatCapacity          Kind = "heat capacity"
	SpecificHeat          Kind = "specific heat"
	PowerPerTemperature   Kind = "power per temperature"
	ThermalResistance     Kind = "thermal resistance"
	HeatTransfer          Kind = "heat transfer coefficient"
	Conductivity          Kind = "thermal conductivity"
	TemperatureCoeff      Kind = "temperature coefficient"
	VoltagePerTemperature Kind = "voltage per temperature"
)

// kindInfo is what the parser knows of a kind.
type kindInfo struct {
	dim    dim
	units  []string // for messages and for Units, the usual one first
	bare   bool     // a plain number is right
	whole  bool     // a whole number only
	notNeg bool
	mixed  bool // "1 ft 6 in"
	gauge  bool // wire gauges
	offset bool // the scale's zero is not zero
	// needs names a class of unit that must stand in the expression, bars one
	// that must not: work and torque share their dimensions.
	needs, bars string
	// alias gives a name another meaning within this kind: lb for lbf in a torque.
	alias map[string]string
}

// due names the kind in a sentence: "a length", "an angle".
func (k Kind) due() string {
	switch k[0] {
	case 'a', 'e', 'i':
		return "an " + string(k)
	}
	return "a " + string(k)
}

func (i *kindInfo) due() string {
	for _, k := range kindOrder {
		if kinds[k] == i {
			return k.due()
		}
	}
	return "a quantity"
}

// The dimensions: metre, kilogram, second, ampere, kelvin, radian. The radian
// is kept so that a rotational speed is no frequency.
type dim [6]int8

var (
	force  = map[string]string{"lb": "lbf", "lbs": "lbf", "oz": "ozf"}
	degree = map[string]string{
		"C": "°C", "c": "°C", "F": "°F", "f": "°F", "deg": "°C", "k": "K",
		"ºC": "°C", "ºF": "°F",
	}
	kindOrder = []Kind{
		Voltage, Current, Resistance, ResistancePerLength, Power, Energy, Capacity, Inductance, Capacitance,
		Length, Area, CableSize, Volume, Mass, MassPerLength, Force, Torque, Inertia, Stiffness,
		TorsionalStiffness, TorsionalDamping, Pressure, AbsolutePressure, TemperatureDifference, Temperature,
		Time, TimeConstant, Angle, RotationalSpeed, Speed, Acceleration, VolumeFlow, MassFlow, Density,
		DynamicViscosity, KinematicViscosity, Frequency, PulsesPerLength, Ratio, Count, SpecificConsumption,
		RoadConsumption, EnergyPerMass, HeatCapacity, SpecificHeat, PowerPerTemperature, ThermalResistance,
		HeatTransfer, Conductivity, TemperatureCoeff, VoltagePerTemperature, CurrentDensity,
	}
	kinds = map[Kind]*kindInfo{
		Voltage:               {dim: dim{2, 1, -3, -1}, units: []string{"V", "mV", "kV"}},
		Current:               {dim: dim{0, 0, 0, 1}, units: []string{"A", "mA", "µA"}},
		CurrentDensity:        {dim: dim{-2, 0, 0, 1}, units: []string{"A/mm²"}},
		Resistance:            {dim: dim{2, 1, -3, -2}, units: []string{"Ω", "mΩ", "kΩ"}, notNeg: true},
		ResistancePerLength:   {dim: dim{1, 1, -3, -2}, units: []string{"mΩ/m", "Ω/km", "Ω/m"}, notNeg: true},
		Power:                 {dim: dim{2, 1, -3}, units: []string{"W", "kW", "hp"}},
		Energy:                {dim: dim{2, 1, -2}, units: []string{"J", "kJ", "mJ", "Wh"}, needs: "work"},
		Capacity:              {dim: dim{0, 0, 1, 1}, units: []string{"Ah", "mAh"}, notNeg: true},
		Inductance:            {dim: dim{2, 1, -2, -2}, units: []string{"mH", "µH", "H"}, notNeg: true},
		Capacitance:           {dim: dim{-2, -1, 4, 2}, units: []string{"µF", "nF", "pF"}, notNeg: true},
		Length:                {dim: dim{1}, units: []string{"m", "mm", "in", "ft"}, notNeg: true, mixed: true},
		Area:                  {dim: dim{2}, units: []string{"m²", "cm²", "mm²", "in²"}, notNeg: true, gauge: true, bars: "volume"},
		CableSize:             {dim: dim{2}, units: []string{"mm²", "AWG"}, notNeg: true, gauge: true, bars: "volume"},
		Volume:                {dim: dim{3}, units: []string{"L", "cm³", "in³", "gal"}, notNeg: true},
		Mass:                  {dim: dim{0, 1}, units: []string{"kg", "g", "lb"}, notNeg: true, mixed: true},
		MassPerLength:         {dim: dim{-1, 1}, units: []string{"kg/m", "g/m", "kg/km"}, notNeg: true},
		Force:                 {dim: dim{1, 1, -2}, units: []string{"N", "kN", "lbf"}, alias: force},
		Torque:                {dim: dim{2, 1, -2}, units: []string{"N·m", "lbf·ft"}, alias: force, bars: "work"},
		Inertia:               {dim: dim{2, 1}, units: []string{"kg·m²"}, notNeg: true},
		Stiffness:             {dim: dim{0, 1, -2}, units: []string{"N/mm", "lbf/in"}, alias: force, notNeg: true},
		TorsionalStiffness:    {dim: dim{2, 1, -2, 0, 0, -1}, units: []string{"N·m/rad", "N·m/°"}, alias: force, notNeg: true},
		TorsionalDamping:      {dim: dim{2, 1, -1, 0, 0, -1}, units: []string{"N·m·s/rad"}, alias: force, notNeg: true},
		Pressure:              {dim: dim{-1, 1, -2}, units: []string{"bar", "kPa", "psi"}},
		AbsolutePressure:      {dim: dim{-1, 1, -2}, units: []string{"kPa", "bar abs", "psia"}, notNeg: true},
		Temperature:           {dim: dim{0, 0, 0, 0, 1}, units: []string{"°C", "°F", "K"}, alias: degree, offset: true},
		TemperatureDifference: {dim: dim{0, 0, 0, 0, 1}, units: []string{"K"}, alias: degree},
		Time:                  {dim: dim{0, 0, 1}, units: []string{"s", "ms", "min"}, mixed: true},
		TimeConstant:          {dim: dim{0, 0, 1}, units: []string{"s", "ms"}, notNeg: true},
		Angle:                 {dim: dim{0, 0, 0, 0, 0, 1}, units: []string{"°", "rad"}},
		RotationalSpeed:       {dim: dim{0, 0, -1, 0, 0, 1}, units: []string{"rpm", "rad/s"}},
		Speed:                 {dim: dim{1, 0, -1}, units: []string{"km/h", "mph", "m/s"}},
		Acceleration:          {dim: dim{1, 0, -2}, units: []string{"m/s²"}, alias: map[string]string{"g": "g₀"}},
		VolumeFlow:            {dim: dim{3, 0, -1}, units: []string{"L/h", "L/min", "cm³/min", "gal/h"}},
		MassFlow:              {dim: dim{0, 1, -1}, units: []string{"g/s", "kg/h", "lb/h"}},
		Density:               {dim: dim{-3, 1}, units: []string{"kg/m³", "kg/L", "g/cm³"}, notNeg: true},
		DynamicViscosity:      {dim: dim{-1, 1, -1}, units: []string{"mPa·s", "Pa·s"}, notNeg: true},
		KinematicViscosity:    {dim: dim{2, 0, -1}, units: []string{"mm²/s", "cSt"}, notNeg: true},
		Frequency:             {dim: dim{0, 0, -1}, units: []string{"Hz", "kHz", "1/min"}, notNeg: true},
		PulsesPerLength:       {dim: dim{-1}, units: []string{"1/km", "1/mi", "1/m"}, notNeg: true},
		Ratio:                 {units: []string{"", "%"}, bare: true},
		Count:                 {units: []string{""}, bare: true, whole: true, notNeg: true},
		SpecificConsumption:   {dim: dim{-2, 0, 2}, units: []string{"g/(kW·h)", "lb/(hp·h)"}, notNeg: true},
		RoadConsumption:       {dim: dim{2}, units: []string{"L/100 km"}, notNeg: true, needs: "volume"},
		EnergyPerMass:         {dim: dim{2, 0, -2}, units: []string{"MJ/kg", "kJ/kg"}, needs: "work"},
		HeatCapacity:          {dim: dim{2, 1, -2, 0, -1}, units: []string{"J/K", "kJ/K"}, notNeg: true},
		SpecificHeat:          {dim: dim{2, 0, -2, 0, -1}, units: []string{"J/(kg·K)", "kJ/(kg·K)"}, notNeg: true},
		PowerPerTemperature:   {dim: dim{2, 1, -3, 0, -1}, units: []string{"W/K", "kW/K"}, notNeg: true},
		ThermalResistance:     {dim: dim{-2, -1, 3, 0, 1}, units: []string{"K/W"}, notNeg: true},
		HeatTransfer:          {dim: dim{0, 1, -3, 0, -1}, units: []string{"W/(m²·K)"}, notNeg: true},
		Conductivity:          {dim: dim{1, 1, -3, 0, -1}, units: []string{"W/(m·K)"}, notNeg: true},
		TemperatureCoeff:      {dim: dim{0, 0, 0, 0, -1}, units: []string{"1/K", "%/K"}},
		VoltagePerTemperature: {dim: dim{2, 1, -3, -1, -1}, units: []string{"mV/K", "V/K"}},
	}
)

// Units lists the usual units of a kind, the most usual first; empty for a
// kind that is a plain number or unknown.
func Units(k Kind) []string {
	info, ok := kinds[k]
	if !ok {
		return nil
	}
	var out []string
	for _, u := range info.units {
		if u != "" {
			out = append(out, u)
		}
	}
	return out
}

// Kinds lists every kind.
func Kinds() []Kind { return append([]Kind(nil), kindOrder...) }
