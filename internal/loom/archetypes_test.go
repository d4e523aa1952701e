package loom

import (
	"slices"
	"testing"

	"fettle/internal/harness"
)

// TestArchetypesAreWired gives every usual engine its coils, sensors, throttle,
// pump and fans on the large controller: every terminal finds its pin and its
// supply, channels follow the cylinders, and the harness is a tree.
func TestArchetypesAreWired(t *testing.T) {
	for _, e := range []struct {
		like, order string
		cylinders   int
	}{
		{"inline three", "1-2-3", 3},
		{"inline four", "1-3-4-2", 4},
		{"inline five", "1-2-4-5-3", 5},
		{"inline six", "1-5-3-6-2-4", 6},
		{"flat four", "1-3-2-4", 4},
		{"V6 even fire", "1-2-3-4-5-6", 6},
		{"V8", "1-8-4-3-6-5-7-2", 8},
		{"V12", "1-7-5-11-3-9-6-12-2-8-4-10", 12},
	} {
		t.Run(e.like, func(t *testing.T) {
			d := engineOf(t, e.like, e.cylinders, e.order, "large controller",
				"coil: {part: plug coil, at: bay, each: cylinder}", "suppressor: {part: suppression capacitor, at: bay}",
				"throttle: {part: throttle body, at: bay}", "pedal: {part: two-track pedal, at: cabin}",
				"intake phaser: {part: phaser solenoid, at: bay}", "exhaust phaser: {part: phaser solenoid, at: bay}",
				"purge: {part: purge valve, at: bay}", "crank: {part: crank sensor, at: bay}", "cam: {part: cam sensor, at: bay}",
				"second cam: {part: cam sensor, at: bay}", "manifold: {part: manifold pressure sensor, at: bay}", "coolant: {part: temperature sensor, at: bay}",
				"knock: {part: knock sensor, at: bay}", "second knock: {part: knock sensor, at: bay}", "left lambda: {part: lambda sensor, at: bay}",
				"right lambda: {part: lambda sensor, at: bay}", "pump: {part: in-tank pump, at: cabin}", "fan: {part: radiator fan, at: bay}",
				"tachometer: {part: tachometer, at: cabin}", "lamp: {part: warning lamp, at: cabin}", "socket: {part: diagnostic socket, at: cabin}")
			l := plan(t, d)
			for _, s := range slices.Concat(l.Short, l.Loose) {
				t.Errorf("%s wants %s and finds none", s.End, s.Needs)
			}
			names, banks, _ := Ways(d.One("controller").Part.Controller)
			pins := pinsOf(l)
			for _, it := range d.Devices {
				for end, needs := range map[string]string{it.Name + " 2": "injector driver", it.Name + " signal": "coil driver"} {
					if n := rank(names, banks, pins[end], needs); it.Cylinder > 0 && n != 0 && n != it.Cylinder {
						t.Errorf("%s is on channel %d", end, n)
					}
				}
			}
			var ways []harness.Way
			all := make([]int, len(l.Tree.Branches))
			for i, b := range l.Tree.Branches {
				all[i] = i
				ways = append(ways, harness.Way{A: b.From, B: b.To, LengthM: b.LengthM})
			}
			if _, err := harness.Root(len(l.Tree.Places), ways, all, 0); err != nil || len(all) == 0 {
				t.Errorf("the harness of %d branches is no tree: %v", len(all), err)
			}
		})
	}
}
