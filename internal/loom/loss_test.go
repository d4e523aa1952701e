package loom

import (
	"slices"
	"testing"

	"fettle/internal/buildfile"
)

// TestBlownFuses blows every fuse of every build and holds what becomes of the
// engine to what its parts need: fuel, spark, its controller.
func TestBlownFuses(t *testing.T) {
	for name, d := range everyBuild(t) {
		for _, f := range plan(t, d).Fuses {
			want := RunsOn
			switch f.Feed {
			case "memory", "key", "switched", "controller", "injection", "ignition", "pump":
				want = Stops
			case "":
				if f.Name != "M2" {
					want = Stops
				}
			}
			if f.Relay != "" && f.Feed == "" && f.Relay != "main" {
				continue // of a relay that the user hung several groups on
			}
			if f.Feed == "switched" && len(f.Lost.Devices) == 0 || f.Feed == "key" && len(f.Lost.Devices) == 0 {
				continue
			}
			if f.Lost.Outcome != want {
				t.Errorf("%s: %s, %s, blown: the engine %s (%s), want that it %s", name, f.Name, f.Feed, f.Lost.Outcome, f.Lost.Why, want)
			}
			if f.Lost.Outcome == Stops && f.Lost.Why == "" {
				t.Errorf("%s: %s stops the engine and does not say why", name, f.Name)
			}
		}
	}
}

// TestLosses names what a blown fuse takes with it in the camper, by hand.
func TestLosses(t *testing.T) {
	set := func(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }
	of := func(l *Loom, feed string) Loss {
		for _, f := range l.Fuses {
			if f.Feed == feed {
				return f.Lost
			}
		}
		t.Fatalf("no fuse feeds %s", feed)
		return Loss{}
	}
	l := plan(t, camper(t))
	if lost := of(l, "pump"); !slices.Equal(lost.Devices, []string{"fuel pump"}) || lost.Outcome != Stops {
		t.Errorf("the pump's fuse takes %+v", lost)
	}
	if lost := of(l, "memory"); !slices.Contains(lost.Relays, "K1 main") || !slices.Contains(lost.Devices, "injector 5") || !slices.Contains(lost.Relays, "K2 pump") {
		t.Errorf("the memory's fuse, which holds the main relay, takes %+v", lost)
	}
	if lost := of(l, "lights"); !slices.Equal(lost.Devices, []string{"left headlamp", "right headlamp"}) || lost.Outcome != RunsOn || len(lost.Relays) > 0 {
		t.Errorf("the lights' fuse takes %+v", lost)
	}
	// A pump on terminal 15 runs on when the controller is dead, and only then.
	l = plan(t, camper(t, set("15", "loom", "feeds", "pump", "from")))
	for feed, want := range map[string]Outcome{"memory": Harmed, "controller": Harmed, "switched": Harmed, "pump": Stops, "injection": Stops, "key": Stops, "lights": RunsOn} {
		if lost := of(l, feed); lost.Outcome != want || want == Harmed && !slices.Equal(lost.StillOn, []string{"fuel pump"}) {
			t.Errorf("pump on 15, fuse of %s blown: %s, %q, still on %v; want %s", feed, lost.Outcome, lost.Why, lost.StillOn, want)
		}
	}
}

// TestSockets holds every relay's socket to DIN 72552: all four terminals have a
// wire, and the coil's terminal 86 is the one that is supplied.
func TestSockets(t *testing.T) {
	l := plan(t, camper(t))
	for i := range l.Relays {
		r := &l.Relays[i]
		for _, s := range l.Sockets(r) {
			if len(s.Wires)+len(s.Fuses) == 0 {
				t.Errorf("%s: no wire ends in terminal %s (DIN 72552)", r.Name, s.Terminal)
			}
			for _, w := range s.Wires {
				if k := l.Wires[w].Kind; (k == Output) != (s.Terminal == "85") {
					t.Errorf("%s: terminal %s has a wire of kind %s", r.Name, s.Terminal, k)
				}
			}
		}
		if r.Part.Relay.Suppressed == "" || r.Part.Relay.AcrossOhm == nil {
			t.Errorf("%s: nothing takes up the energy of its coil", r.Name)
		}
	}
}
