package catalogue_test

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/loom"
)

func load(t *testing.T) *catalogue.Catalogue {
	t.Helper()
	c, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// inputs gathers every leaf below a value.
func inputs(v reflect.Value, out *[]*figure.Input) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return
		}
		if in, ok := v.Interface().(*figure.Input); ok {
			*out = append(*out, in)
			return
		}
		inputs(v.Elem(), out)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				inputs(v.Field(i), out)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			inputs(v.Index(i), out)
		}
	}
}

// dimensionless lists the last words of the IDs of plain numbers.
var dimensionless = []string{"pulley ratio", "ratio to crankshaft", "axle ratio", "gear ratio at full power", "compression ratio", "lambda at full power", "times"}

func checkLeaves(t *testing.T, what string, v any) int {
	t.Helper()
	var all []*figure.Input
	inputs(reflect.ValueOf(v), &all)
	for _, in := range all {
		if in.Source == "" {
			t.Errorf("%s: %s has no source", what, in.ID)
		}
		last := string(in.ID[strings.LastIndex(string(in.ID), "/")+1:])
		if in.Unit == "" && !slices.Contains(dimensionless, last) {
			t.Errorf("%s: %s %q has no unit", what, in.ID, in.Literal)
		}
		loose := strings.Contains(in.Source, "from memory") || strings.Contains(in.Source, "common practice")
		if loose && !(in.SdSI > 0) {
			t.Errorf("%s: %s %q is recalled and has no spread", what, in.ID, in.Literal)
		}
	}
	return len(all)
}

func TestEveryValueHasUnitSpreadAndSource(t *testing.T) {
	c := load(t)
	n := checkLeaves(t, "cables", &c.Cables) + checkLeaves(t, "scheme", &c.Scheme)
	for _, name := range c.PartNames() {
		n += checkLeaves(t, name, c.Parts[name])
	}
	if n < 250 {
		t.Errorf("%d values were looked at; the catalogue holds more than 250", n)
	}
}

// TestCables holds the table against a published one. ISO 6722-1 conductors
// carry 92 to 95 % of their nominal copper, IEC 60228 class 5 ones 88 to 90 %:
// so each must be 1 to 8 % below the row of IEC 60228 and no lower than a solid
// conductor of the full area (IEC 60028).
func TestCables(t *testing.T) {
	const source = "IEC 60228 class 5, plain copper, greatest resistance at 20 °C"
	rows := []struct {
		areaMM2, iecMilliohmPerM float64
	}{
		{0.5, 39.0},
		{0.75, 26.0},
		{1, 19.5},
		{1.5, 13.3},
		{2.5, 7.98},
		{4, 4.95},
		{6, 3.30},
		{10, 1.91},
		{16, 1.21},
		{25, 0.780},
		{35, 0.554},
	}
	c := load(t)
	for _, r := range rows {
		cable := bySize(c, r.areaMM2)
		if cable == nil {
			t.Errorf("no cable of %g mm²", r.areaMM2)
			continue
		}
		got := cable.OhmPerM.SI * 1e3
		if got < 0.92*r.iecMilliohmPerM || got > 0.99*r.iecMilliohmPerM {
			t.Errorf("%g mm²: %g mΩ/m, want 92 to 99 %% of %g (%s)", r.areaMM2, got, r.iecMilliohmPerM, source)
		}
	}
	const copperOhmMM2PerM = 0.017241 // IEC 60028
	for _, s := range c.Cables.Sizes {
		areaMM2 := s.Value.AreaM2.SI * 1e6
		solid := copperOhmMM2PerM / areaMM2
		if share := solid / s.Value.OhmPerM.SI; share < 0.89 || share > 0.96 {
			t.Errorf("%s: implied copper is %.3f of the area, want 0.89 to 0.96", s.Name, share)
		}
		if d := s.Value.OverallM.SI * 1e3; d < math.Sqrt(areaMM2*4/math.Pi)*1.15 || d > math.Sqrt(areaMM2*4/math.Pi)*2.2 {
			t.Errorf("%s: %g mm over all does not fit its copper", s.Name, d)
		}
	}
}

func bySize(c *catalogue.Catalogue, areaMM2 float64) *catalogue.Cable {
	for i, s := range c.Cables.Sizes {
		if math.Abs(s.Value.AreaM2.SI*1e6-areaMM2) < 1e-9 {
			return &c.Cables.Sizes[i].Value
		}
	}
	return nil
}

func TestCablesRise(t *testing.T) {
	s := load(t).Cables.Sizes
	for i := 1; i < len(s); i++ {
		a, b := s[i-1].Value, s[i].Value
		if b.AreaM2.SI <= a.AreaM2.SI || b.OhmPerM.SI >= a.OhmPerM.SI || b.OverallM.SI <= a.OverallM.SI {
			t.Errorf("%s after %s: area and diameter must rise and resistance fall", s[i].Name, s[i-1].Name)
		}
	}
}

// TestPublishedRows holds catalogue values against service data and standards
// that no one here wrote.
func TestPublishedRows(t *testing.T) {
	c := load(t)
	relay, coil := c.Parts["mini relay"].Relay, c.Parts["plug coil"].Coil
	rows := []struct {
		name             string
		got, atLeast, at float64
		source           string
	}{
		{"relay coil, Ω", relay.CoilOhm.SI, 68, 90, "data sheets of two mini relays: 68, 75 and 85 Ω"},
		{"relay contact at 10 A, mV", relay.ContactOhm.SI * 10e3, 15, 50, "same: typically 15 mV, at most 50 and 200 mV"},
		{"relay contact at 85 °C, A", relay.ContactA.SI, 30, 40, "same: 30, 35 and 40 A"},
		{"relay operates, V", relay.OperateV.SI, 6.5, 8, "same: 6.5 and 8 V"},
		{"coil primary, Ω", coil.Ohm.SI, 0.3, 1.0, "service data of single-spark coils"},
		{"coil primary, mH", coil.Henry.SI * 1e3, 2, 8, "range of inductive coils, from memory"},
		{"coil stores, mJ", 500 * coil.Henry.SI * coil.ChargeA.SI * coil.ChargeA.SI, 50, 150, "½LI² with service data: 96 to 148 mJ, conventional 30 to 50 mJ (Heywood, section 9.5)"},
		{"fuse loading", c.Scheme.FuseFrac.SI, 0.75, 0.80, "fuse of at least 1.25 times the load; 75 to 80 % at 25 °C"},
		{"pump feed drop, V", c.Scheme.Feed("pump").DropV.SI, 0.3, 0.72, "0.5 V or 3 to 5 % of 14.4 V for pumps and coils, common practice"},
		{"injection feed drop, V", c.Scheme.Feed("injection").DropV.SI, 0.3, 0.72, "same"},
		{"ground drop, V", c.Scheme.GroundDropV.SI, 0.1, 0.3, "service data: ground under 0.1 V, starter return under 0.3 V"},
		{"battery, cold, mΩ", 1e3 * (12.6 - 7.2) / c.Parts["battery 70 Ah"].Battery.ColdA.SI, 7, 10, "(12.6 − 7.2)/CCA: 9.0 mΩ for 600 A"},
	}
	for _, r := range rows {
		if r.got < r.atLeast || r.got > r.at {
			t.Errorf("%s: %g, want %g to %g (%s)", r.name, r.got, r.atLeast, r.at, r.source)
		}
	}
	for _, name := range c.PartNames() {
		a := c.Parts[name].Alternator
		least := 2.0
		if strings.HasPrefix(name, "dynamo") {
			least = 1.5 // their commutators stand less speed, from memory
		}
		if a != nil && (a.SetV.SI < 13.8 || a.SetV.SI > 14.8 || a.PulleyRatio.SI < least || a.PulleyRatio.SI > 3.2) {
			t.Errorf("%s: set at %g V, pulley %g; want 13.8 to 14.8 V warm and about 2.2 to 3.2, a little less for old ones (common practice)", name, a.SetV.SI, a.PulleyRatio.SI)
		}
	}
}

func TestWordsOfParts(t *testing.T) {
	c := load(t)
	for _, name := range c.PartNames() {
		p := c.Parts[name]
		for _, e := range p.Terminals {
			v := e.Value
			switch v.Role {
			case "feed":
				if v.Feed == "" {
					t.Errorf("%s %s: a feed without a group", name, e.Name)
				}
			case "ground":
				if v.Ground == "" {
					t.Errorf("%s %s: a ground without a kind", name, e.Name)
				}
			case "source":
				if v.Gives == "" {
					t.Errorf("%s %s: a source that gives nothing", name, e.Name)
				}
			case "input", "output":
				if v.Needs != loom.Terminal61 && !someController(c, v.Needs) { // that is the alternator's
					t.Errorf("%s %s: no controller's pin can do %q", name, e.Name, v.Needs)
				}
			}
			if strings.ContainsAny(e.Name, " +-:#") {
				t.Errorf("%s: terminal name %q needs quoting", name, e.Name)
			}
		}
	}
	for _, r := range c.Scheme.Relays {
		if !someController(c, r.Value.Needs) {
			t.Errorf("relay %s: no controller's pin can do %q", r.Name, r.Value.Needs)
		}
		if r.Value.Feed != "30" && c.Scheme.Feed(r.Value.Feed) == nil {
			t.Errorf("relay %s: coil from %q, which is no feed", r.Name, r.Value.Feed)
		}
	}
	for _, f := range c.Scheme.Feeds {
		if (f.Value.From == "") == (f.Value.Relay == "") {
			t.Errorf("feed %s comes from %q and relay %q; one of them is due", f.Name, f.Value.From, f.Value.Relay)
		}
		if f.Value.Relay != "" && c.Scheme.Relay(f.Value.Relay) == nil {
			t.Errorf("feed %s: no relay %q", f.Name, f.Value.Relay)
		}
	}
}

// TestEverySensorSaysWhatItReads since rules know it by that, and wants the
// words of a part and of a device to be the same.
func TestEverySensorSaysWhatItReads(t *testing.T) {
	c := load(t)
	for _, name := range c.PartNames() {
		if p := c.Parts[name]; p.Kind == "sensor" && len(p.Reads) == 0 {
			t.Errorf("%s does not say what it reads", name)
		}
	}
	part, _ := reflect.TypeFor[catalogue.Part]().FieldByName("Reads")
	device, _ := reflect.TypeFor[design.Device]().FieldByName("Reads")
	if part.Tag.Get("words") != device.Tag.Get("words") {
		t.Errorf("a part reads %s, a device %s", part.Tag.Get("words"), device.Tag.Get("words"))
	}
}

func someController(c *catalogue.Catalogue, needs string) bool {
	for _, p := range c.Parts {
		if p.Controller == nil {
			continue
		}
		for _, b := range p.Controller.Pins {
			if slices.Contains(b.Can, needs) {
				return true
			}
		}
	}
	return false
}

// TestArchetypes wants every section's archetypes whole, sourced and spread. An
// engine without a phaser says 0°, which is no recollection.
func TestArchetypes(t *testing.T) {
	c := load(t)
	want := map[string][]string{
		"vehicle":     {"mass", "drag area", "rolling resistance", "tyre", "axle ratio", "gear ratio at full power"},
		"climate":     {"altitude", "hottest", "coldest"},
		"fuel":        {"ethanol"},
		"engine":      {"bore", "stroke", "rod", "compression ratio", "intake valve", "intake lift", "intake valves", "intake closes", "idle speed", "full power speed", "speed limit", "lambda at full power", "intake opens", "intake phaser", "runner", "runner bore", "charge warming", "intake drop", "exhaust drop", "exhaust valve", "exhaust runner", "exhaust runner bore", "exhaust collector", "plenum", "burn length"},
		"fuel system": {"rail pressure", "line length", "line bore", "filter drop at 100 L/h"},
	}
	for section, keys := range want {
		names := c.ArchetypeNames(section)
		if !slices.Contains(names, "default") {
			t.Errorf("section %q has no default archetype", section)
		}
		for _, name := range names {
			file, src, _ := c.Archetype(section, name)
			tree, ds := buildfile.Parse(file, src)
			if len(ds) > 0 {
				t.Errorf("%s: %v", file, ds)
				continue
			}
			if tree.Find("source") == nil {
				t.Errorf("%s has no source", file)
			}
			for _, key := range keys {
				n := tree.Find(section, key)
				if n == nil {
					t.Errorf("%s lacks %q", file, key)
				} else if none := key == "intake phaser" && n.Text == "0°"; key != "intake valves" && !none && !strings.Contains(n.Text, "±") {
					t.Errorf("%s: %q is %q, recalled without a spread", file, key, n.Text)
				}
			}
		}
	}
}

// TestOwnParts holds a build's own part before the embedded one of its name,
// and a fault in it to its file.
func TestOwnParts(t *testing.T) {
	c := load(t)
	own, ds := c.With(map[string][]byte{"parts/relay.yaml": []byte("part: mini relay\nkind: lamp\nis: no relay at all\nsource: stated\n")})
	if len(ds) > 0 {
		t.Fatal(ds)
	}
	if own.Parts["mini relay"].Kind != "lamp" || c.Parts["mini relay"].Kind != "relay" {
		t.Error("the build's own part must stand before the embedded one, and only in the new catalogue")
	}
	_, ds = c.With(map[string][]byte{"parts/bad.yaml": []byte("part: a\nkind: pump\nis: b\nsource: c\nloads:\n  - {from: x, to: y, model: pump}\n")})
	var rules []string
	for _, d := range ds {
		rules = append(rules, d.Rule)
		if d.Pos.File != "parts/bad.yaml" {
			t.Errorf("%v stands in %q", d, d.Pos.File)
		}
	}
	for _, rule := range []string{"unknown-terminal", "missing-value", "missing-section"} {
		if !slices.Contains(rules, rule) {
			t.Errorf("no message %s among %v", rule, rules)
		}
	}
}
