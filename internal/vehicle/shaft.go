package vehicle

import (
	"math"

	"fettle/internal/driveline"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// jointInput is the resultant angle that a shaft's two joints may have.
func jointInput() *figure.Input {
	angle, err := driveline.HookeAngleRad(driveline.LimitSwingFrac)
	if err != nil {
		angle = 3 * math.Pi / 180
	}
	return &figure.Input{ID: "model/resultant joint angle", SI: angle, Unit: "°", Source: "shaft makers' guidance: a speed that swings by at most 0.0027, that of one joint at 3°", Origin: figure.Constant}
}

// JointRad is the resultant angle of the propeller shaft's two joints with the
// yokes in line, and the most it may be; ok is false when no angles are stated
// or they are out of the formula's range.
func (v *Vehicle) JointRad() (resultantRad float64, most *figure.Input, ok bool) {
	s := v.Design.File.Shaft
	if s == nil || s.FrontRad == nil || s.RearRad == nil {
		return 0, nil, false
	}
	angle, err := driveline.PairAngleRad(s.FrontRad.SI, s.RearRad.SI, true)
	if err != nil {
		return 0, nil, false
	}
	return angle, jointInput(), true
}

// joints records the resultant angle.
func (a *accountant) joints() {
	angle, most, ok := a.v.JointRad()
	if !ok {
		return
	}
	s := a.v.Design.File.Shaft
	a.l.Leaf(most)
	a.l.Put("shaft/joints/ResultantRad", formula.DrivelinePairAngleRad, angle, "°", a.l.Leaf(s.FrontRad), a.l.Leaf(s.RearRad))
}
