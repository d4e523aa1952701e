package rule_test

import (
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/demo"
	"fettle/internal/loom"
	"fettle/internal/run"
)

// TestThinWireFound forces, in each example, the wire that wants the largest size
// of all branches to 0.5 mm²: the finding names it at the
// line that fixes it, and goes with the line.
func TestThinWireFound(t *testing.T) {
	for _, name := range []string{"camper", "roadster", "pickup"} {
		files, err := demo.Files(name)
		if err != nil {
			t.Fatal(err)
		}
		in := run.Input{File: "build.yaml", Src: files["build.yaml"], Parts: map[string][]byte{}}
		for f, text := range files {
			if strings.HasPrefix(f, "parts/") {
				in.Parts[f] = text
			}
		}
		was := solve(t, in)
		var w *loom.Wire
		for i := range was.Loom.Wires {
			o := &was.Loom.Wires[i]
			if o.Kind == loom.Supply && o.Guard.Fuse != "" && !o.Guard.Declared && !o.Fixed && (w == nil || o.Area.SI > w.Area.SI) {
				w = o
			}
		}
		if w == nil || w.Area.SI < 1e-6 {
			t.Fatalf("%s: no branch wants a size worth the name", name)
		}
		found := func(r *run.Result) (at string, ok bool) {
			for _, f := range r.Findings {
				for _, f := range append(f.Under, f) {
					if f.Rule == "fuse-wire" && strings.Contains(f.Subject+f.Msg.String(), w.Name) {
						return f.Pos.String(), true
					}
				}
			}
			return "", false
		}
		if at, ok := found(was); ok {
			t.Errorf("%s: %s is found at %s before it is made thin", name, w.Name, at)
		}
		thin := edited(t, in, buildfile.Edit{Path: []string{"loom", "wires", w.Name, "size"}, Text: "0.5 mm²"})
		r := solve(t, thin)
		at, ok := found(r)
		if !ok {
			t.Errorf("%s: %s, %s before, is forced to 0.5 mm² and nothing says so", name, w.Name, w.Size)
			continue
		}
		lines := strings.Split(string(thin.Src), "\n")
		if line := r.Design.Place("loom", "wires", w.Name, "size").Line; !strings.Contains(lines[line-1], "0.5 mm²") || !strings.Contains(at, ":") {
			t.Errorf("%s: %s is found at %s, fixed at line %d", name, w.Name, at, line)
		}
	}
}
