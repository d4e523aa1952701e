package driver

import "math"

// Hills is the route that is built in: an invented hour-less drive over a pass,
// from a village through bends, up 6 to 9 %, along the top, down again and out on
// a main road.
func Hills() Route {
	r := Route{Name: "hills"}
	legs := []struct{ seconds, kmh, percent float64 }{
		{10, 0, 0},
		{20, 30, 0},
		{40, 45, 1},
		{8, 20, 0},
		{10, 0, 0},
		{25, 50, 2},
		{60, 60, 6},
		{45, 45, 8},
		{30, 30, 9},
		{70, 55, 7},
		{40, 40, 9},
		{60, 60, 5},
		{50, 70, 1},
		{40, 50, -1},
		{12, 0, 0},
		{30, 50, -4},
		{60, 60, -7},
		{30, 35, -8},
		{60, 55, -6},
		{50, 45, -8},
		{60, 65, -4},
		{60, 80, 0},
		{90, 90, 1},
		{60, 95, -1},
		{30, 60, 0},
		{20, 30, 0},
		{15, 0, 0},
	}
	t, v, g := 0.0, 0.0, 0.0
	const step = 1.0
	for _, leg := range legs {
		to := leg.kmh / 3.6
		for range int(leg.seconds) {
			r.TimeS = append(r.TimeS, t)
			r.SpeedMPerS = append(r.SpeedMPerS, v)
			r.GradeFrac = append(r.GradeFrac, g)
			t += step
			up, down := 0.7, 1.2 // m/s²
			if v > 14 {
				up = 0.45
			}
			v += math.Max(-down*step, math.Min(up*step, to-v))
			g += math.Max(-0.01, math.Min(0.01, leg.percent/100-g))
		}
	}
	return r
}
