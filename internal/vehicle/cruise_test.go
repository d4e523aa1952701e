package vehicle_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/driveline"
	"fettle/internal/vehicle"
)

// TestReserveGradeFrac holds the grade that a reserve of torque climbs to the
// power of a grade, m g v sin θ.
func TestReserveGradeFrac(t *testing.T) {
	const source = "Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 4 (from memory): m g v sin θ, closed form"
	tests := []struct {
		name                           string
		openNm, heldNm, speed, eff     float64
		massKg, roadMPerS, want, tolFr float64
	}{
		// 1500 · 9.80665 · (100/3.6) · 0.05 = 20430.5 W at the wheels
		{"20.43 kW move 1500 kg up 5 % at 100 km/h", 20430.5 / 300, 0, 300, 1, 1500, 100 / 3.6, 0.05, 1e-4},
		{"the same through a driveline of 0.9", 20430.5/300/0.9 + 40, 40, 300, 0.9, 1500, 100 / 3.6, 0.05, 1e-4},
		{"nothing left", 120, 120, 300, 0.9, 1500, 25, 0, 0},
		{"the speed is not held", 100, 120, 300, 0.9, 1500, 25, -0.9 * 20 * 300 / (1500 * 9.80665 * 25), 1e-12},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := vehicle.ReserveGradeFrac(tt.openNm, tt.heldNm, tt.speed, tt.eff, tt.massKg, tt.roadMPerS)
			if math.Abs(got-tt.want) > tt.tolFr*math.Max(math.Abs(tt.want), 1e-9) {
				t.Errorf("got %.6f, want %.6f (%s)", got, tt.want, source)
			}
		})
	}
}

// TestReserveClimbsWhatTheRoadAsks holds the reserve to the road load on the
// grade it answers: the two differ by the cosine only.
func TestReserveClimbsWhatTheRoadAsks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		car := driveline.Vehicle{
			MassKg:      rapid.Float64Range(500, 4000).Draw(t, "mass"),
			DragAreaM2:  rapid.Float64Range(0.5, 3).Draw(t, "area"),
			RollingFrac: rapid.Float64Range(0.008, 0.02).Draw(t, "rolling"),
		}
		road := rapid.Float64Range(10, 50).Draw(t, "speed")
		speed := rapid.Float64Range(150, 600).Draw(t, "engine")
		held, err := driveline.RoadLoadW(car, road, 0, 1.2)
		if err != nil {
			t.Fatal(err)
		}
		reserve := rapid.Float64Range(0, 120).Draw(t, "reserve")
		grade := vehicle.ReserveGradeFrac(held/speed/0.9+reserve, held/speed/0.9, speed, 0.9, car.MassKg, road)
		if grade > 0.25 {
			return // steeper than the formula is made for
		}
		asked, err := driveline.RoadLoadW(car, road, grade, 1.2)
		if err != nil {
			t.Fatal(err)
		}
		given := held + 0.9*reserve*speed
		if math.Abs(asked-given) > 0.035*given { // 1 − cos θ is 3 % at 0.25
			t.Errorf("a grade of %.3f asks for %.0f W, the reserve gives %.0f W", grade, asked, given)
		}
	})
}
