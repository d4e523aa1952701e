package plant

import "math"

// Heat capacities for a litre of displacement (from memory: an engine of 2 litres
// holds 60 kg of metal that warms with the coolant, 7 litres of coolant, 4 of oil).
const (
	blockJPerKM3   = 28e6
	oilJPerKM3     = 4e6
	oilWPerKM3     = 120e3 // from coolant to oil
	lossWPerKM3    = 12e3  // from the block to the air round it
	shedWPerKM3    = 0.6e6 // of the radiator with fan or headwind, thermostat open; a charged engine has one for its power
	thermostatK    = 361.15
	thermostatSpan = 8.0
	// warmRiseK is the intake valve above the coolant with the engine firing, reached
	// in warmS (from memory); it is why a cold engine soon needs less fuel.
	warmRiseK, warmS = 30.0, 12.0
)

// heat moves coolant, oil and intake valves on.
func (p *Plant) heat(dt, dragNm float64) {
	litres := p.e.Geometry.DisplacementM3()
	fuelW := 0.0
	if p.speed > 5 && p.burning.burnKg > 0 && p.gross > 0 {
		fuelW = p.burning.burnKg * p.e.Fuel.HeatingJPerKg * p.speed * float64(p.e.Geometry.CylinderCount) / (4 * math.Pi)
	}
	share := p.maps.at(p.speed, p.manifoldPa).of(p.maps.coolant)
	in := fuelW * math.Min(0.6, share) * p.truth.HeatRatio
	rub := dragNm * math.Max(0, p.speed)
	open := math.Max(0, math.Min(1, (p.coolantK-thermostatK)/thermostatSpan))
	out := lossWPerKM3*litres*(p.coolantK-p.day.AmbientK) + shedWPerKM3*litres*(1+p.e.BoostPa/p.e.AmbientPa)*open*p.draughtFrac*(p.coolantK-p.day.AmbientK)
	toOil := oilWPerKM3 * litres * (p.coolantK - p.oilK)
	p.coolantK += dt * (in + rub/2 - out - toOil) / (blockJPerKM3 * litres)
	p.oilK += dt * (rub/2 + toOil) / (oilJPerKM3 * litres)
	p.heatInJ += dt * (in + rub)
	p.heatOutJ += dt * out
	rise := 0.0
	if fuelW > 0 {
		rise = warmRiseK
	}
	p.warmK += (rise - p.warmK) * dt / warmS
	if fuelW == 0 {
		p.exhaustK += (p.coolantK - p.exhaustK) * dt / 20
	}
}

// StoredHeatJ is the heat in coolant, block and oil above a temperature.
func (p *Plant) StoredHeatJ(aboveK float64) float64 {
	l := p.e.Geometry.DisplacementM3()
	return l * (blockJPerKM3*(p.coolantK-aboveK) + oilJPerKM3*(p.oilK-aboveK))
}
