package rule_test

import (
	"slices"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/rule"
)

func set(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }

func pin(end, name string) buildfile.Edit { return set(name, "loom", "pins", end, "pin") }

// TestChannelsAreCounted holds the channels of coils and injectors to each other:
// by cylinder or by the firing order 1-2-4-5-3, in which cylinder 3 is the fifth.
func TestChannelsAreCounted(t *testing.T) {
	injectors := []buildfile.Edit{pin("injector 3 2", "A5"), pin("injector 4 2", "A3"), pin("injector 5 2", "A4")}
	coils := []buildfile.Edit{pin("coil 3 signal", "A13"), pin("coil 4 signal", "A11"), pin("coil 5 signal", "A12")}
	stage := []buildfile.Edit{
		set("two-wire plug coil", "devices", "coil", "part"), set("ignition stage six", "devices", "stage", "part"), set("engine top", "devices", "stage", "at"),
	}
	tests := []struct {
		name  string
		edits []buildfile.Edit
		wants []string
	}{
		{"both by firing order", slices.Concat(injectors, coils), nil},
		{"coils alone by firing order", coils, []string{"coil-channel"}},
		{"injectors alone by firing order", injectors, []string{"coil-channel"}},
		{"two injectors changed over", []buildfile.Edit{pin("injector 4 2", "A5"), pin("injector 5 2", "A4")}, []string{"injector-channel"}},
		{"all moved up by one", []buildfile.Edit{
			pin("coil 1 signal", "A10"), pin("coil 2 signal", "A11"), pin("coil 3 signal", "A12"), pin("coil 4 signal", "A13"), pin("coil 5 signal", "A14"),
		}, []string{"coil-channel"}},
		{"through a stage", stage, nil},
		{"through a stage, outputs changed over", append(slices.Clone(stage), pin("coil 1 1", "stage A2"), pin("coil 2 1", "stage A1")), []string{"coil-channel"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := solve(t, edited(t, base(t), tt.edits...))
			if got := ids(r.Findings); !slices.Equal(got, tt.wants) {
				t.Errorf("the causes are %v, want %v", got, tt.wants)
			}
			for i := range r.Findings {
				sound(t, r, &r.Findings[i])
			}
		})
	}
}

// TestOwnSensorIsAsked gives the crankshaft a sensor of the build's own that
// does not say what it reads: the finding names it, and a word at it ends that.
func TestOwnSensorIsAsked(t *testing.T) {
	const pickup = `part: speed pickup
kind: sensor
is: magnetic sensor from the shelf
source: my own
terminals:
  1: {role: input, needs: magnetic, group: screened}
  2: {role: sensor ground, group: screened}
`
	in := with(edited(t, base(t), set("speed pickup", "devices", "crank sensor", "part")), map[string]string{"parts/speed pickup.yaml": pickup})
	r := solve(t, in)
	if got := ids(r.Findings); !slices.Equal(got, []string{"crank-sensor"}) {
		t.Fatalf("the causes are %v, want that nothing reads the crankshaft", got)
	}
	if hint := r.Findings[0].Hint; !strings.Contains(hint.String(), `crank sensor is the one, write "reads: crank angle" at it`) {
		t.Errorf("the hint does not ask for the sensor's use: %s", hint)
	}
	nothing(t, solve(t, edited(t, in, set("crank angle", "devices", "crank sensor", "reads"))))
}

// TestWhatEnginesAreGiven holds rules that depend on more than one word.
func TestWhatEnginesAreGiven(t *testing.T) {
	throttle, _ := rule.ByID("throttle-driver")
	parts := map[string]string{}
	for name, text := range throttle.Parts {
		parts[name] = text + "    - {connector: C, ways: 1-5, can: [direct injector driver], current: 12 A, resistance: 100 mΩ}\n" +
			"    - {connector: C, ways: \"6\", can: [direct pump driver], current: 10 A, resistance: 100 mΩ}\n" +
			"    - {connector: C, ways: \"7\", can: [motor bridge one], current: 8 A, resistance: 250 mΩ}\n" +
			"    - {connector: C, ways: \"8\", can: [motor bridge two], current: 8 A, resistance: 250 mΩ}\n"
	}
	boost := []buildfile.Edit{
		set("0.8 bar", "boost", "pressure"), set("fuel", "boost", "over-pressure cut"), set("manifold pressure sensor 2.5 bar", "devices", "manifold pressure", "part"),
		set("yes", "boost", "charge cooler"), set("high-flow in-tank pump", "devices", "fuel pump", "part"), set("4 mm²", "loom", "wires", "fuel pump 1", "size"), set("injector 470 cc", "devices", "injector", "part"),
	}
	tests := []struct {
		name  string
		edits []buildfile.Edit
		wants []string
	}{
		{"direct injection, driven", []buildfile.Edit{set("yes", "engine", "direct injection"), set("plain controller", "devices", "controller", "part")}, nil},
		{"direct injection, not driven", []buildfile.Edit{set("yes", "engine", "direct injection")}, []string{"direct-injection"}},
		{"wasted spark with a coil for each of five", []buildfile.Edit{set("wasted spark", "engine", "spark")}, nil},
		{"a cable throttle with a stepper valve", []buildfile.Edit{
			set("cable", "engine", "throttle"), set("cable throttle", "devices", "throttle", "part"),
			set("stepper idle valve", "devices", "idle valve", "part"), set("engine top", "devices", "idle valve", "at"),
		}, nil},
		{"cams from the archetype, phaser said to be none", []buildfile.Edit{
			{Path: []string{"engine", "cams"}, Delete: true},
			set("0°", "engine", "intake phaser"),
			{Path: []string{"devices", "intake phaser"}, Delete: true},
			{Path: []string{"devices", "exhaust phaser"}, Delete: true},
		}, nil},
		{"boost on an unreferenced rail", boost, []string{"boost-reference"}},
		{"boost on an unreferenced rail that the controller corrects", append(slices.Clone(boost), set("4 bar", "injector data", "entered for"), set("yes", "injector data", "controller corrects")), nil},
		{"data for 60 psi on a rail at 58", []buildfile.Edit{set("58 psi", "fuel system", "rail pressure"), set("manifold", "fuel system", "regulator reference"), set("60 psi", "injector data", "entered for")}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := solve(t, edited(t, with(base(t), parts), tt.edits...))
			if got := ids(r.Findings); !slices.Equal(got, tt.wants) {
				t.Errorf("the causes are %v, want %v", got, tt.wants)
				for _, f := range r.Findings {
					t.Log(f.Msg)
				}
			}
			for i := range r.Findings {
				sound(t, r, &r.Findings[i])
			}
		})
	}
	r := solve(t, edited(t, base(t), boost...))
	// √(3.2/4.0) = 0.894, incompressible orifice
	if why := r.Findings[0].Why.String(); !strings.Contains(why, "10.6") || !strings.Contains(why, "less") {
		t.Errorf("0.8 bar of boost on 4.0 bar is explained by %q, want 10.6 %% less", why)
	}
}

// TestForcedGrounds joins every kind of ground to everything that a file can
// join it to (common practice: sensors to the controller, power to the engine,
// stages and coils to their head, lamps and fans to the body).
func TestForcedGrounds(t *testing.T) {
	want := map[string]map[string]string{
		"sensor": {"controller": "", "power": "sensor-ground", "head": "sensor-ground", "body": "sensor-ground"},
		"power":  {"controller": "shared-ground", "power": "", "head": "", "body": "power-ground"}, // the head is in the engine
		"head":   {"controller": "shared-ground", "power": "", "head": "", "body": "head-ground"},
		"body":   {"controller": "shared-ground", "power": "body-ground", "head": "body-ground", "body": ""},
	}
	for kind, row := range want {
		for joins, id := range row {
			t.Run(kind+" to "+joins, func(t *testing.T) {
				r := solve(t, edited(t, base(t), set(joins, "loom", "grounds", kind, "joins")))
				var wants []string
				if id != "" {
					wants = []string{id}
				}
				if got := ids(r.Findings); !slices.Equal(got, wants) {
					t.Errorf("the causes are %v, want %v", got, wants)
				}
				for i := range r.Findings {
					sound(t, r, &r.Findings[i])
				}
			})
		}
	}
}

// TestShortPartsNameASufficientOne wants the smallest part of the catalogue that
// ends the finding to be offered, tried by the solve.
func TestShortPartsNameASufficientOne(t *testing.T) {
	tests := []struct {
		name, id, mend string
		edits          []buildfile.Edit
	}{
		{"injectors", "injector-duty", "injector to injector", []buildfile.Edit{set("injector 160 cc", "devices", "injector", "part")}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := solve(t, edited(t, base(t), tt.edits...))
			i := slices.IndexFunc(r.Findings, func(f rule.Finding) bool { return f.Rule == tt.id })
			if i < 0 {
				t.Fatalf("no %s among %v", tt.id, ids(r.Findings))
			}
			if m := r.Findings[i].Mends; len(m) == 0 || !strings.HasPrefix(m[0].Title.String(), tt.mend) {
				t.Errorf("the mends are %v, want first %q", m, tt.mend)
			}
			nothing(t, solve(t, edited(t, edited(t, base(t), tt.edits...), r.Findings[i].Mends[0].Edits...)))
		})
	}
}
