package buildfile_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

const goodFile = `name: van   # white
fuel: diesel
layout: flat
turbo: yes
cylinders: 4
engine:
  note: from the shed
  bore: 86 mm ± 1 mm
  rail pressure: {value: 43.5 psi, source: gauge on the rail, batch: rails}
  idle speed:
    value: 850 rpm
relays:
  zulu: {coil: 85 Ω ± 5 %, feed: alpha}
  alpha: {coil: 90 Ω}
wires:
  - {size: 2.5 mm², ends: [zulu, alpha]}
  - ends: zulu
colours: red
gears: [2.5, 1.5]
loads:
  fan: {current: 12 A}
`

func TestDecode(t *testing.T) {
	w, ds := read("build.yaml", []byte(goodFile))
	if len(ds) > 0 {
		t.Fatal(ds)
	}
	if w.Name != "van" || w.Fuel != "diesel" || w.Layout != "flat" || !w.Turbo || w.Count != 4 || w.Engine.Note != "from the shed" {
		t.Errorf("got %+v", w)
	}
	if w.Engine.Pos.Line != 6 || w.Engine.Pos.Col != 1 || w.Engine.Node.Key != "engine" || w.Node.Parent != nil || w.Pos.Line != 1 {
		t.Errorf("places: engine %v, file %v", w.Engine.Pos, w.Pos)
	}
	if w.Engine.Stroke != nil {
		t.Error("stroke is not written, but not nil")
	}
	if len(w.Relays) != 2 || w.Relays[0].Name != "zulu" || w.Relays[1].Name != "alpha" || w.Relays[1].Pos.Line != 14 || w.Relays[0].Value.Line != 13 {
		t.Errorf("relays %+v", w.Relays)
	}
	if r := w.Relays[0].Value.Feed; r.Name != "alpha" || r.Pos.Line != 13 || r.Pos.Col != 34 || r.Pos.Len != 5 {
		t.Errorf("reference %+v", r)
	}
	if len(w.Wires) != 2 || len(w.Wires[0].Ends) != 2 || len(w.Wires[1].Ends) != 1 || w.Wires[1].Size != nil {
		t.Errorf("wires %+v", w.Wires)
	}
	if len(w.Colour) != 1 || w.Colour[0] != "red" || len(w.Gears) != 2 || w.Gears[1].SI != 1.5 {
		t.Errorf("colours %v, gears %v", w.Colour, w.Gears)
	}
	if len(w.Loads) != 1 || w.Loads[0].Value.Current.SI != 12 || w.Loads[0].Value.Current.ID != "build/loads/fan/current" {
		t.Errorf("loads %+v", w.Loads)
	}
}

func TestInputs(t *testing.T) {
	w, ds := read("build.yaml", []byte(goodFile))
	if len(ds) > 0 {
		t.Fatal(ds)
	}
	// want: 1 in = 25.4 mm and 1 lbf = 4.4482216152605 N exactly (NIST SP 811, 2008, B.8),
	// so that 43.5 psi = 43.5 × 6894.757293 Pa; 850 rpm = 850 · 2π/60 rad/s. A written
	// tolerance is two standard deviations.
	tests := []struct {
		in                             *figure.Input
		si, sd                         float64
		id, unit, literal, source, bat string
		line, col                      int
	}{
		{w.Engine.Bore, 0.086, 0.0005, "build/engine/bore", "mm", "86 mm ± 1 mm", "stated in build.yaml, line 8", "", 8, 9},
		{w.Engine.Rail, 299921.942, 0, "build/engine/rail pressure", "psi", "43.5 psi", "gauge on the rail", "rails", 9, 26},
		{w.Engine.Idle, 850 * 2 * math.Pi / 60, 0, "build/engine/idle speed", "rpm", "850 rpm", "stated in build.yaml, line 11", "", 11, 12},
		{w.Relays[0].Value.Coil, 85, 85 * 0.05 / 2, "build/relays/zulu/coil", "Ω", "85 Ω ± 5 %", "stated in build.yaml, line 13", "", 13, 16},
		{w.Gears[1], 1.5, 0, "build/gears/1", "", "1.5", "stated in build.yaml, line 19", "", 19, 14},
	}
	for _, tt := range tests {
		t.Run(tt.id, func(t *testing.T) {
			in := tt.in
			if math.Abs(in.SI-tt.si) > 1e-8*tt.si || math.Abs(in.SdSI-tt.sd) > 1e-9*tt.si { // the figures' last digits
				t.Errorf("got %v ± %v, want %v ± %v", in.SI, in.SdSI, tt.si, tt.sd)
			}
			got := []string{string(in.ID), in.Unit, in.Literal, in.Source, in.Batch}
			if d := cmp.Diff([]string{tt.id, tt.unit, tt.literal, tt.source, tt.bat}, got); d != "" {
				t.Error(d)
			}
			if in.Pos.Line != tt.line || in.Pos.Col != tt.col || in.Pos.File != "build.yaml" || in.Origin != figure.Stated {
				t.Errorf("place %v, origin %v", in.Pos, in.Origin)
			}
		})
	}
}

// part is a catalogue item: every value needs a source.
type part struct {
	Flow *figure.Input `key:"flow" kind:"volume flow"`
	Coil *figure.Input `key:"coil" kind:"resistance"`
}

func TestSources(t *testing.T) {
	const src = "flow: 190 L/h\ncoil: {value: 12 Ω ± 5 %, source: common practice, batch: coils}\n"
	tree := mustParse(t, src)
	var p part
	ds := buildfile.Decode(tree.Root, &p, buildfile.Options{Origin: figure.Part, Prefix: "part/pump"})
	if len(ds) != 1 || ds[0].Rule != buildfile.RuleNoSource || ds[0].Pos.Line != 1 || ds[0].Msg.String() != `"flow" has no source` {
		t.Errorf("got %v", ds)
	}
	p = part{}
	ds = buildfile.Decode(tree.Root, &p, buildfile.Options{Origin: figure.Part, Prefix: "part/pump", Source: "bench test"})
	if len(ds) > 0 || p.Flow.Source != "bench test" || p.Coil.Source != "common practice" || p.Flow.Origin != figure.Part || p.Flow.ID != "part/pump/flow" || p.Coil.Batch != "coils" {
		t.Errorf("got %v, %+v, %+v", ds, p.Flow, p.Coil)
	}
}

func TestSubjects(t *testing.T) {
	_, ds := read("f", []byte("name: van\nengine:\n  bor: 86 mm\n  stroke: 1 bar\nrelays: {a: {coil: 1 Ω, feed: [x]}}\n"))
	var got []string
	for _, d := range ds {
		got = append(got, d.Subject)
	}
	if d := cmp.Diff([]string{"engine.bor", "engine.stroke", "relays.a.feed"}, got); d != "" {
		t.Error(d)
	}
	_, ds = read("f", []byte("name: van\nengine: {note: x}\ncylinders: 99\n"))
	if len(ds) != 2 || ds[0].Subject != "engine.bore" || ds[1].Subject != "cylinders" || ds[1].Value.String() != "99" || ds[1].Limit.String() != "1 to 16" {
		t.Errorf("got %+v", ds)
	}
}

// TestMuted holds that a misspelt key is told once, not also as missing.
func TestMuted(t *testing.T) {
	_, ds := read("f", []byte("nmae: van\n"))
	if len(ds) != 1 || ds[0].Rule != buildfile.RuleUnknownKey {
		t.Errorf("got %v", ds)
	}
}

func TestFaultsOfTheProgramPanic(t *testing.T) {
	tree := mustParse(t, "a: 1\n")
	tests := map[string]any{
		"no pointer": struct{}{},
		"no kind": &struct {
			A *figure.Input `key:"a"`
		}{},
		"bad limit": &struct {
			A *figure.Input `key:"a" kind:"ratio" min:"1 bar"`
		}{},
		"float": &struct {
			A float64 `key:"a"`
		}{},
		"hidden field": &struct {
			a string `key:"a"`
		}{},
	}
	for name, into := range tests {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if r := recover(); r == nil || !strings.HasPrefix(r.(string), "buildfile: ") {
					t.Errorf("recovered %v", r)
				}
			}()
			buildfile.Decode(tree.Root, into, buildfile.Options{})
		})
	}
}

func TestCheckRef(t *testing.T) {
	long := strings.Split(strings.Repeat("abcdefgh,", 13), ",")
	tests := []struct {
		name, ref string
		known     []string
		hint      string
		ok        bool
	}{
		{"known", "main", []string{"main"}, "", true},
		{"not written", "", nil, "", true},
		{"misspelt", "mian", []string{"main", "pump"}, `did you mean "main"?`, false},
		{"upper case", "Main", []string{"main"}, `did you mean "main"?`, false},
		{"unknown", "horn", []string{"main", "pump"}, "known: main, pump", false},
		{"none", "horn", nil, "write the relay first; the file has none", false},
		{"many", "zz", long, "write the relay first, or correct the name", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, ok := buildfile.CheckRef(buildfile.Ref{Name: tt.ref, Pos: diag.Pos{File: "f", Line: 3, Col: 2}}, "relay", tt.known)
			if ok != tt.ok || d.Hint.String() != tt.hint {
				t.Errorf("got %v %v, hint %q", ok, d, d.Hint)
			}
			if !ok && (d.Pos.Line != 3 || !strings.Contains(d.Msg.String(), tt.ref)) {
				t.Errorf("got %v", d)
			}
		})
	}
}
