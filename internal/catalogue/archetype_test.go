package catalogue_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// bare is a vehicle that says no more than it must; the rest is an archetype's.
const bare = `fettle: 1
name: bare
vehicle: {like: %s}
climate: {like: %s}
fuel: {like: %s}
fuel system: {like: %s}
engine: {like: %s, cylinders: %s, firing order: %s}
places:
  front: {ground: engine}
  rear: {ground: body}
routes: [{from: front, to: rear, length: 1 m}]
devices:
  battery: {part: battery 70 Ah, at: rear}
  alternator: {part: alternator 90 A, at: front}
  starter: {part: starter 1.4 kW, at: front}
  ignition switch: {part: ignition switch, at: rear}
  controller: {part: large controller, at: rear}
`

// text is a value of an archetype's file as it is written.
func text(t *testing.T, c *catalogue.Catalogue, section, name, key string) string {
	t.Helper()
	file, src, _ := c.Archetype(section, name)
	tree, ds := buildfile.Parse(file, src)
	if len(ds) > 0 {
		t.Fatal(ds)
	}
	if n := tree.Find(section, key); n != nil {
		return n.Text
	}
	return ""
}

// readBare reads the bare vehicle with archetypes.
func readBare(t *testing.T, c *catalogue.Catalogue, like map[string]string) *design.Design {
	t.Helper()
	pick := func(section string) string {
		if like[section] != "" {
			return like[section]
		}
		return map[string]string{"vehicle": "car", "climate": "temperate", "fuel": "petrol E10", "fuel system": "return 3 bar", "engine": "inline four"}[section]
	}
	e := pick("engine")
	src := fmt.Sprintf(bare, pick("vehicle"), pick("climate"), pick("fuel"), pick("fuel system"), e,
		text(t, c, "engine", e, "cylinders"), text(t, c, "engine", e, "firing order"))
	d, ds := design.Read("build.yaml", []byte(src), c)
	if d == nil {
		var b strings.Builder
		diag.Print(&b, ds, nil, false)
		t.Fatalf("%v does not read:\n%s", like, b.String())
	}
	return d
}

// TestArchetypesRead reads every archetype into a vehicle: every key is known,
// every value has a unit and lies in its range.
func TestArchetypesRead(t *testing.T) {
	c := load(t)
	for _, section := range []string{"vehicle", "climate", "fuel", "fuel system", "engine"} {
		for _, name := range c.ArchetypeNames(section) {
			if name != "default" {
				readBare(t, c, map[string]string{section: name})
			}
		}
	}
}

// TestEngineArchetypes holds every engine against the ranges of a textbook.
func TestEngineArchetypes(t *testing.T) {
	const heywood = "Heywood, Internal Combustion Engine Fundamentals, 1988, sections 2.2 and 6.3, from memory"
	c := load(t)
	want := []string{
		"inline two", "inline three", "inline four", "inline five", "inline six", "flat four", "flat six", "V6 even fire", "V6 odd fire", "V8", "V10", "V12",
		"inline three boosted", "inline four boosted", "inline five boosted", "inline six boosted", "flat four boosted", "V6 boosted", "V8 boosted",
	}
	for _, name := range want {
		if _, _, ok := c.Archetype("engine", name); !ok {
			t.Errorf("no engine archetype %q", name)
		}
	}
	for _, name := range c.ArchetypeNames("engine") {
		if name == "default" {
			continue
		}
		e := readBare(t, c, map[string]string{"engine": name}).File.Engine
		low, high := 0.33, 0.41
		if e.IntakeValves == 1 {
			low, high = 0.42, 0.55
		}
		litres := 1e3 * math.Pi / 4 * e.BoreM.SI * e.BoreM.SI * e.StrokeM.SI * float64(e.Cylinders)
		rows := []struct {
			what             string
			got, least, most float64
		}{
			{"rod over crank throw", 2 * e.RodM.SI / e.StrokeM.SI, 3, 4},
			{"bore over stroke", e.BoreM.SI / e.StrokeM.SI, 0.8, 1.3},
			{"intake valve over bore", e.IntakeValveM.SI / e.BoreM.SI, low, high},
			{"lift over intake valve", e.IntakeLiftM.SI / e.IntakeValveM.SI, 0.2, 0.32},
			{"mean piston speed at the limit, m/s", e.LimitRadPerS.SI * e.StrokeM.SI / math.Pi, 13, 25},
			{"compression ratio", e.CompressionRatio.SI, 8, 12},
			{"litres a cylinder", litres / float64(e.Cylinders), 0.3, 0.72},
		}
		for _, r := range rows {
			if r.got < r.least || r.got > r.most {
				t.Errorf("%s: %s is %.3g, want %g to %g (%s)", name, r.what, r.got, r.least, r.most, heywood)
			}
		}
		boosted := strings.HasSuffix(name, "boosted")
		if boosted && (e.CompressionRatio.SI > 10 || e.LambdaFull.SI > 0.85) {
			t.Errorf("%s: compression %g, lambda %g; boosted engines squeeze less and run richer (common practice)", name, e.CompressionRatio.SI, e.LambdaFull.SI)
		}
	}
}

// TestArchetypeCams holds each intake cam to the opening and closing that its
// engine states: duration = 180° + opens + closes, centreline = duration/2 − opens.
func TestArchetypeCams(t *testing.T) {
	c := load(t)
	for _, name := range c.ArchetypeNames("engine") {
		file, src, _ := c.Archetype("engine", name)
		tree, _ := buildfile.Parse(file, src)
		list := tree.Find("engine", "cams")
		if name == "default" {
			continue
		}
		if list == nil {
			t.Errorf("%s has no cams", name)
			continue
		}
		var e design.Engine
		buildfile.Decode(tree.Find("engine"), &e, buildfile.Options{Source: "x"})
		for _, cam := range e.Cams {
			if cam.Moves == "exhaust" {
				continue
			}
			duration := math.Pi + e.IntakeOpenRad.SI + e.IntakeCloseRad.SI
			if math.Abs(cam.DurationRad.SI-duration) > 1e-6 || math.Abs(cam.CentreRad.SI-(duration/2-e.IntakeOpenRad.SI)) > 1e-6 {
				t.Errorf("%s: intake cam of %s at %s does not open %s before and close %s after", name,
					cam.DurationRad.Literal, cam.CentreRad.Literal, e.IntakeOpenRad.Literal, e.IntakeCloseRad.Literal)
			}
		}
		if (len(e.BankOne) == 0) != (e.Layout == "inline") {
			t.Errorf("%s: layout %s with bank 1 %v", name, e.Layout, e.BankOne)
		}
	}
}
