package demo_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/run"
)

// cleanBuilds reads the builds of clean/: invented vehicles without a fault.
func cleanBuilds(t *testing.T) map[string][]byte {
	t.Helper()
	files, err := filepath.Glob("clean/*.yaml")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d clean builds (%v), want at least 20", len(files), err)
	}
	out := map[string][]byte{}
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(src), "Invented") {
			t.Errorf("%s does not say that it is invented", file)
		}
		out[strings.TrimSuffix(filepath.Base(file), ".yaml")] = src
	}
	return out
}

func nominal(t *testing.T, c *run.Cache, name string, src []byte) *run.Result {
	t.Helper()
	r, err := run.Nominal(context.Background(), run.Input{File: name + ".yaml", Src: src}, c)
	if err != nil {
		t.Fatal(err)
	}
	if !r.OK() {
		var b strings.Builder
		diag.Print(&b, r.Errors, func(string) []byte { return src }, false)
		t.Fatalf("%s does not read:\n%s", name, b.String())
	}
	return r
}

// TestCleanBuilds runs every clean build: no rule may find anything to stop or
// fix, every state has its answer, every terminal its pin and supply.
func TestCleanBuilds(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	for name, src := range cleanBuilds(t) {
		t.Run(name, func(t *testing.T) {
			r := nominal(t, c, name, src)
			for _, f := range r.Findings {
				if f.Severity == diag.Note {
					continue
				}
				t.Error(f.Diagnostic)
				for _, u := range f.Under {
					t.Logf("  and so %s", u.Diagnostic)
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
		})
	}
}

// TestCleanBuildsVary wants every choice of the trade to be met by some build.
func TestCleanBuildsVary(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	met := map[string][]string{}
	for name, src := range cleanBuilds(t) {
		d := nominal(t, c, name, src).Design
		for _, what := range choices(d) {
			met[what] = append(met[what], name)
		}
	}
	for _, want := range []string{
		"2 cylinders", "3 cylinders", "4 cylinders", "5 cylinders", "6 cylinders", "8 cylinders", "10 cylinders", "12 cylinders",
		"inline", "V", "flat", "electronic throttle", "cable throttle", "one coil a cylinder", "wasted spark", "distributor",
		"manual", "automatic by engine controller", "automatic by own unit", "automatic by hydraulics", "boosted",
		"small controller", "middle controller", "large controller", "gearbox unit", "ignition stage six",
		"idle valve", "stepper idle valve", "old tachometer", "external pump", "in-tank pump", "high-flow in-tank pump",
		"returnless", "return at the rail", "ethanol E85", "hot", "cold", "high plateau", "tropical", "diameter for a tyre", "tyre code",
	} {
		if len(met[want]) == 0 {
			t.Errorf("no clean build has: %s", want)
		}
	}
}

// choices lists what a build stands for.
func choices(d *design.Design) []string {
	f := d.File
	e := &f.Engine
	layout := e.Layout
	if layout == "" {
		layout = "inline"
	}
	out := []string{e.FiringOrder, layout, e.Throttle + " throttle", e.Spark, f.Climate.Like, f.Fuel.Like}
	out = append(out, strings.Fields("- 1 2 3 4 5 6 7 8 9 10 11 12")[e.Cylinders]+" cylinders")
	if f.Gearbox != nil && f.Gearbox.Kind == "manual" {
		out = append(out, "manual")
	} else if f.Gearbox != nil {
		out = append(out, "automatic by "+f.Gearbox.RunBy)
	}
	if f.Boost != nil {
		out = append(out, "boosted")
	}
	if strings.HasPrefix(f.System.Like, "returnless") {
		out = append(out, "returnless")
	} else {
		out = append(out, "return at the rail")
	}
	if strings.Contains(f.Vehicle.Tyre.Code, "R") {
		out = append(out, "tyre code")
	} else {
		out = append(out, "diameter for a tyre")
	}
	for _, it := range d.Devices {
		out = append(out, it.Part.Name)
	}
	return out
}

// TestCleanBuildsCanFail plants a fault of each kind: what finds nothing in the
// clean builds finds these.
func TestCleanBuildsCanFail(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	all := cleanBuilds(t)
	for _, r := range []struct{ build, old, new, rule string }{
		{"roadster-four", "part: alternator 90 A", "part: dynamo 22 A", "charge-balance"},
		{"coupe-six", "part: injector 270 cc", "part: injector 160 cc", "injector-duty"},
		{"coupe-ten", "part: large controller", "part: middle controller", "pin-short"},
		{"pickup-odd-six", "spark: distributor", "spark: wasted spark", "wasted-pairs"},
		{"lorry-six", "part: battery 110 Ah", "part: battery 44 Ah", "slow-cranking"},
		{"saloon-twelve", "part: high-flow in-tank pump", "part: in-tank pump", "fuel-short"},
		{"estate-five", "  fuse box: fuse box", "  fuse box: fuse box\n  grounds:\n    sensor: {joins: power}", "sensor-ground"},
	} {
		src := string(all[r.build])
		if strings.Count(src, r.old) == 0 {
			t.Errorf("%s has no %q", r.build, r.old)
			continue
		}
		var got []string
		for _, f := range nominal(t, c, r.build, []byte(strings.ReplaceAll(src, r.old, r.new))).Findings {
			got = append(got, f.Rule)
			for _, under := range f.Under { // the controller restarts too: one cause
				got = append(got, under.Rule)
			}
		}
		if !slices.Contains(got, r.rule) {
			t.Errorf("%s with %q: found %v, want %s among them", r.build, r.new, got, r.rule)
		}
	}
}
