package rule_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/rule"
)

// del deletes what stands at a path.
func del(path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Delete: true} }

// TestVehiclesRoundTheEngine holds the rules about the vehicle where they depend
// on more than their own example: the other ways to be wrong, and the near
// misses that are right.
func TestVehiclesRoundTheEngine(t *testing.T) {
	solenoids := []buildfile.Edit{
		del("devices", "shift solenoid one"), del("devices", "shift solenoid two"), del("devices", "overrun solenoid"),
		del("devices", "pressure solenoid"), del("devices", "converter clutch"),
	}
	manual := []buildfile.Edit{set("manual", "gearbox", "kind"), del("gearbox", "run by")}
	noRange := del("devices", "range switch")
	bare := set("engine unit", "devices", "controller", "part")
	shaft := func(front, rear string) []buildfile.Edit {
		return []buildfile.Edit{
			set("0.9 m", "propeller shaft", "length"), set("76.2 mm", "propeller shaft", "diameter"), set("1.65 mm", "propeller shaft", "wall"),
			set(front, "propeller shaft", "front joint angle"), set(rear, "propeller shaft", "rear joint angle"),
		}
	}
	tests := []struct {
		name  string
		edits []buildfile.Edit
		wants []string
	}{
		{"pump on the main relay", []buildfile.Edit{set("main", "loom", "feeds", "pump", "relay")}, []string{"pump-runaway"}},
		{"pump on the battery", []buildfile.Edit{set("30", "loom", "feeds", "pump", "from")}, []string{"pump-runaway"}},
		{"pump fused by the builder, on its own relay", []buildfile.Edit{set("20 A", "loom", "feeds", "pump", "fuse")}, nil},
		{"starter from terminal 30", []buildfile.Edit{set("30", "loom", "feeds", "starter", "from")}, []string{"starter-runaway"}},
		{"starter from terminal 50", []buildfile.Edit{set("50", "loom", "feeds", "starter", "from")}, nil},
		{"main supply from 75, dead while cranking", []buildfile.Edit{set("75", "loom", "feeds", "controller", "from")}, []string{"main-direct"}},
		{"main supply straight from the battery", []buildfile.Edit{set("30", "loom", "feeds", "controller", "from")}, nil},
		{"a unit of its own that is not there", []buildfile.Edit{set("own unit", "gearbox", "run by")}, []string{"gearbox-control"}},
		{"a unit of its own", []buildfile.Edit{
			set("own unit", "gearbox", "run by"), set("gearbox unit", "devices", "gearbox unit", "part"), set("controller", "devices", "gearbox unit", "at"),
		}, nil},
		{"shifted by the controller without a solenoid", solenoids, []string{"gearbox-control"}},
		{"solenoids that nothing is said to run, and nothing can", []buildfile.Edit{bare, del("gearbox", "run by")}, []string{"gearbox-control"}},
		{"a converter clutch beside hydraulics, without a driver", append(slices.Clone(solenoids[:4]), bare, set("hydraulics", "gearbox", "run by")), []string{"pin-short"}},
		{"no range switch for the controller that shifts", []buildfile.Edit{noRange}, []string{"gearbox-signals", "reverse-lamp"}},
		{"an interlock nobody speaks of, with a range switch", []buildfile.Edit{del("gearbox", "start interlock")}, nil},
		{"an interlock nobody speaks of, without one", []buildfile.Edit{
			del("gearbox", "start interlock"), set("hydraulics", "gearbox", "run by"), set("reverse switch", "devices", "range switch", "part"),
			set("reverse switch", "devices", "reverse", "part"), set("gearbox", "devices", "reverse", "at"), noRange,
		}, []string{"start-interlock"}},
		{"a manual whose interlock nobody speaks of", append(slices.Clone(manual), del("gearbox", "start interlock")), nil},
		{"two gears of one ratio", []buildfile.Edit{set("1.55", "gearbox", "ratios", "2")}, []string{"gear-order"}},
		{"an engine that labours", []buildfile.Edit{set("2.4", "vehicle", "axle ratio"), set("1.2 m²", "vehicle", "drag area")}, []string{"cruise-revs"}},
		{"two equal joints, far bent", shaft("8°", "8°"), nil},
		{"two joints within a degree, far bent", shaft("8°", "7.2°"), []string{"joint-angle"}},
		{"two joints within a degree", shaft("2.0°", "1.2°"), nil},
		{"beyond the formula, a degree apart", shaft("19°", "18.5°"), nil},
		{"beyond the formula, two degrees apart", shaft("20°", "18°"), []string{"joint-angle"}},
		{"an ammeter that stands the charge", []buildfile.Edit{
			set("in the charging cable", "electrical", "dash ammeter"), set("no alternator to speak of", "devices", "alternator", "part"),
		}, nil},
		{"a lamp of 2 W", []buildfile.Edit{set("2 W", "electrical", "charge lamp")}, nil},
		{"a brake switch by its lead", []buildfile.Edit{del("devices", "brake switch"), set("connected", "loose leads", "brake switch", "is"), set("controller", "loose leads", "brake switch", "to")}, nil},
		{"a brake switch cut off", []buildfile.Edit{del("devices", "brake switch"), set("insulated", "loose leads", "brake switch", "is")}, []string{"lead-missing"}},
		{"a fan by its thermal switch", []buildfile.Edit{del("devices", "left fan"), del("devices", "right fan"), del("loom", "feeds", "fans"), set("thermal switch", "cooling", "fan switched by")}, nil},
		{"a radiator that just does", []buildfile.Edit{set("72 kW", "cooling", "radiator"), set("60 K", "cooling", "at")}, nil},
	}
	// own parts: the examples', and an alternator of an ammeter's size
	parts := map[string]string{"parts/tiny.yaml": strings.NewReplacer("low alternator", "no alternator to speak of", "120 A", "28 A", "12.9 V", "14.2 V").Replace(exampleAlternator)}
	for _, id := range []string{"gearbox-control", "pump-over-driver"} {
		x, _ := rule.ByID(id)
		maps.Copy(parts, x.Parts)
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := solve(t, edited(t, with(base(t), parts), tt.edits...))
			got := slices.DeleteFunc(ids(r.Findings), func(id string) bool {
				return strings.HasPrefix(tt.name, "an ammeter") && !strings.HasPrefix(id, "ammeter")
			})
			if !slices.Equal(got, tt.wants) {
				t.Errorf("the causes are %v, want %v", got, tt.wants)
				for _, f := range r.Findings {
					t.Logf("%s: %v", f.Rule, f.Msg)
				}
			}
			for i := range r.Findings {
				sound(t, r, &r.Findings[i])
			}
		})
	}
}

// exampleAlternator is the alternator of another rule's example.
var exampleAlternator = func() string {
	x, _ := rule.ByID("pump-voltage")
	return x.Parts["parts/low alternator.yaml"]
}()
