package demo_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"fettle/internal/demo"
	"fettle/internal/diag"
	"fettle/internal/run"
)

// example runs one of the examples as it is shipped.
func example(t *testing.T, c *run.Cache, name string, edit func(string) string) *run.Result {
	t.Helper()
	all, err := demo.Files(name)
	if err != nil {
		t.Fatal(err)
	}
	in := run.Input{File: "build.yaml", Src: []byte(edit(string(all["build.yaml"]))), Parts: map[string][]byte{}}
	for file, text := range all {
		if strings.HasPrefix(file, "parts/") {
			in.Parts[file] = text
		}
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range r.Errors {
		t.Error(d)
	}
	if !r.OK() {
		t.FailNow()
	}
	return r
}

func asShipped(s string) string { return s }

// TestExamplesAreClean runs the examples that are meant to have nothing wrong:
// no finding to stop or fix, every state answered, every terminal served, every
// table made, every assumption with its spread.
func TestExamplesAreClean(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"roadster", "pickup"} {
		t.Run(name, func(t *testing.T) {
			all, _ := demo.Files(name)
			for _, file := range []string{"build.yaml", "README.md"} {
				if !strings.Contains(strings.ToLower(string(all[file])), "invented") {
					t.Errorf("%s does not say that it is invented", file)
				}
			}
			r := example(t, c, name, asShipped)
			for _, f := range r.Findings {
				if f.Severity != diag.Note {
					t.Error(f.Diagnostic)
				}
			}
			for _, s := range r.Solved.States {
				if !s.Ended.OK {
					t.Errorf("state %s has no answer: %s", s.Name, s.Ended.Why)
				}
			}
			for _, s := range slices.Concat(r.Loom.Short, r.Loom.Loose) {
				t.Errorf("%s wants %s and finds none", s.End, s.Needs)
			}
			for _, in := range r.Design.Inputs {
				if in.Assumed() && in.SdSI <= 0 {
					t.Errorf("%s is assumed and has no spread", in.ID)
				}
			}
			maps, err := run.Maps(t.Context(), r, nil)
			if err != nil || len(maps) < 5 {
				t.Errorf("%d tables (%v), want volumetric efficiency, spark, lambda target, dwell and dead time", len(maps), err)
			}
			t.Logf("%d devices, %d wires, %d inputs", len(r.Design.Devices), len(r.Loom.Wires), len(r.Design.Inputs))
		})
	}
}

// TestExamplesCanFail plants a fault in each example, and it is found.
func TestExamplesCanFail(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct{ name, old, new, rule string }{
		{"roadster", "part: manifold pressure sensor 2.5 bar", "part: manifold pressure sensor", "boost-map-range"},
		{"roadster", "part: injector 470 cc", "part: injector 160 cc", "injector-duty"},
		{"roadster", "hose class: R9", "hose class: R7", "hose-class"},
		{"pickup", "spark: wasted spark", "spark: one coil a cylinder", "spark-coils"},
		{"pickup", "part: injector pair, at: engine}\n  injectors eight", "part: injector pair, at: engine}\n  spare injectors: {part: injector pair, at: engine}\n  injectors eight", "pin-short"},
	} {
		r := example(t, c, x.name, func(s string) string {
			if strings.Count(s, x.old) != 1 {
				t.Fatalf("%s has %q %d times", x.name, x.old, strings.Count(s, x.old))
			}
			return strings.Replace(s, x.old, x.new, 1)
		})
		var got []string
		for _, f := range r.Findings {
			got = append(got, f.Rule)
		}
		if !slices.Contains(got, x.rule) {
			t.Errorf("%s with %q: found %v, want %s among them", x.name, x.new, got, x.rule)
		}
	}
}
