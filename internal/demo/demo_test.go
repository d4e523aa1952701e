package demo_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"fettle/internal/catalogue"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

// Mends of the five mistakes, as edits of the text.
var mends = []struct{ name, old, new string }{
	{"pump feed", "size: 0.5 mm²", "size: 2.5 mm²"},
	{"sensor ground", "    sensor: {joins: power}", "    sensor: {joins: controller}"},
	{"alternator", "part: van alternator", "part: alternator 120 A"},
	{"fans", "    fans: {relay: main}", "    fans: {relay: fans}"},
	{"switched supply", "switched: {from: 75,", "switched: {from: 15,"},
}

func files(t *testing.T) map[string][]byte {
	t.Helper()
	out, err := demo.Files("camper")
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// plan reads a build file of the camper's folder and makes its loom.
func plan(t *testing.T, src string) (*design.Design, *loom.Loom) {
	t.Helper()
	all := files(t)
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	parts := map[string][]byte{}
	for name, text := range all {
		if strings.HasPrefix(name, "parts/") {
			parts[name] = text
		}
	}
	own, ds := cat.With(parts)
	d, more := design.Read("build.yaml", []byte(src), own)
	ds = append(ds, more...)
	if d != nil {
		l, bad := loom.Plan(d)
		if ds = append(ds, bad...); l != nil && len(ds) == 0 {
			return d, l
		}
	}
	var b bytes.Buffer
	diag.Print(&b, ds, func(file string) []byte {
		if file == "build.yaml" {
			return []byte(src)
		}
		return all[file]
	}, false)
	t.Fatalf("the camper does not read:\n%s", b.String())
	return nil, nil
}

func TestNames(t *testing.T) {
	if !slices.Contains(demo.Names(), "camper") {
		t.Errorf("names are %v, want camper among them", demo.Names())
	}
	if _, err := demo.Files("lorry"); err == nil || !strings.Contains(err.Error(), `"lorry"`) || !strings.Contains(err.Error(), "camper") {
		t.Errorf("an unknown example gives %v, want an error that names it and what there is", err)
	}
}

func TestFolder(t *testing.T) {
	all := files(t)
	for _, name := range []string{"build.yaml", ".gitignore", "README.md", "parts/van alternator.yaml"} {
		if len(all[name]) == 0 {
			t.Errorf("the folder has no %s", name)
		}
	}
	for _, name := range []string{"build.yaml", "README.md"} {
		if !strings.Contains(string(all[name]), "invented") {
			t.Errorf("%s does not say that it is invented", name)
		}
	}
	for name, text := range all {
		if strings.Contains(string(text), "\t") || strings.Contains(string(text), "\r") || !strings.HasSuffix(string(text), "\n") {
			t.Errorf("%s has a tab, a carriage return or no end of its last line", name)
		}
	}
}

// TestEveryTerminalIsServed reads the camper as written and with everything
// mended: every part is known, every terminal has its pin, supply and way.
func TestEveryTerminalIsServed(t *testing.T) {
	src := string(files(t)["build.yaml"])
	mended := src
	for _, m := range mends {
		if strings.Count(src, m.old) != 1 {
			t.Errorf("%s: %q stands %d times in the file, want once", m.name, m.old, strings.Count(src, m.old))
		}
		mended = strings.Replace(mended, m.old, m.new, 1)
	}
	for what, text := range map[string]string{"written": src, "mended": mended} {
		d, l := plan(t, text)
		for _, s := range append(l.Short, l.Loose...) {
			t.Errorf("%s: %s wants %s and finds none", what, s.End, s.Needs)
		}
		if n := len(d.Devices); n < 70 || n > 90 {
			t.Errorf("%s: %d devices, want about 80", what, n)
		}
		if len(l.Wires) < 150 {
			t.Errorf("%s: %d wires, want at least 150", what, len(l.Wires))
		}
		assumed := 0
		for _, in := range d.Inputs {
			if in.Assumed() {
				assumed++
				if in.SdSI <= 0 {
					t.Errorf("%s: %s is assumed and has no spread", what, in.ID)
				}
			}
		}
		if assumed < 8 {
			t.Errorf("%s: %d values are assumed, want some left out", what, assumed)
		}
		t.Logf("%s: %d devices, %d wires, %d assumed of %d inputs", what, len(d.Devices), len(l.Wires), assumed, len(d.Inputs))
	}
}
