package demo_test

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"

	"fettle/internal/catalogue"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
	"fettle/internal/run"
)

// Mends of the five mistakes, as edits of the text, with the rule that finds
// each and what stands on the line it is found at.
var mends = []struct{ name, old, new, rule, line string }{
	{"pump feed", "size: 0.5 mm²", "size: 2.5 mm²", "wire-drop", "fuel pump 1:"},
	{"sensor ground", "    sensor: {joins: power}", "    sensor: {joins: controller}", "sensor-ground", "sensor:"},
	{"alternator", "part: van alternator", "part: alternator 120 A", "charge-balance", "alternator:"},
	{"fans", "    fans: {relay: main}", "    fans: {relay: fans}", "relay-overload", "fans:"},
	{"switched supply", "switched: {from: 75,", "switched: {from: 15,", "supply-cranking", "switched:"},
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

// causes runs the pipeline and lists the rules of the causes with their lines.
func causes(t *testing.T, c *run.Cache, src string) (rules, lines []string) {
	t.Helper()
	parts := map[string][]byte{}
	for name, text := range files(t) {
		if strings.HasPrefix(name, "parts/") {
			parts[name] = text
		}
	}
	r, err := run.Nominal(context.Background(), run.Input{File: "build.yaml", Src: []byte(src), Parts: parts}, c)
	if err != nil || !r.OK() {
		t.Fatalf("the camper does not run: %v %v", err, r)
	}
	for _, s := range r.Solved.States {
		if !s.Ended.OK {
			t.Errorf("state %s has no answer: %s", s.Name, s.Ended.Why)
		}
	}
	for _, f := range r.Findings {
		if f.Severity == diag.Note {
			continue
		}
		rules = append(rules, f.Rule)
		lines = append(lines, strings.Split(src, "\n")[f.Pos.Line-1])
		if f.Hint.String() == "" {
			t.Errorf("%s has no hint", f.Rule)
		}
	}
	return rules, lines
}

// TestFiveMistakes makes every choice of mends: what is left to find is always
// exactly what was not mended, each at its own line.
func TestFiveMistakes(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	written := string(files(t)["build.yaml"])
	for set := range 1 << len(mends) {
		src := written
		var want, names []string
		for i, m := range mends {
			if set&(1<<i) != 0 {
				src = strings.Replace(src, m.old, m.new, 1)
				names = append(names, m.name)
				continue
			}
			want = append(want, m.rule)
		}
		got, lines := causes(t, c, src)
		for i, rule := range got {
			for _, m := range mends {
				if m.rule == rule && !strings.Contains(lines[i], m.line) {
					t.Errorf("with %v mended: %s stands at %q, want the line of %q", names, rule, lines[i], m.line)
				}
			}
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("with %v mended: found %v, want %v", names, got, want)
		}
	}
}

// TestOtherMends mends the mistakes as other builders would.
func TestOtherMends(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	src := string(files(t)["build.yaml"])
	for _, m := range [][2]string{
		{"size: 0.5 mm²", "size: 1.5 mm²"},
		{"    sensor: {joins: power}\n", ""},
		{"  grounds:\n", ""},
		{"part: van alternator", "part: alternator 150 A"},
		{"    fans: {relay: main}\n", ""},
		{"    switched: {from: 75, remark: free way on the ignition switch}\n", ""},
		{"  feeds:\n", ""},
	} {
		if !strings.Contains(src, m[0]) {
			t.Fatalf("the file has no %q", m[0])
		}
		src = strings.Replace(src, m[0], m[1], 1)
	}
	if got, _ := causes(t, c, src); len(got) > 0 {
		t.Errorf("found %v, want nothing", got)
	}
}
