package formboard

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/drawing/harness"
	"fettle/internal/loom"
)

// boards sets out every example build: those that fettle writes and the clean
// ones its rules are held against.
func boards(t *testing.T) map[string]*Board {
	t.Helper()
	examples, err := filepath.Glob("../demo/*/build.yaml")
	if err != nil {
		t.Fatal(err)
	}
	clean, err := filepath.Glob("../demo/clean/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*Board{}
	for _, path := range append(examples, clean...) {
		cat, err := catalogue.Open()
		if err != nil {
			t.Fatal(err)
		}
		parts := map[string][]byte{}
		own, _ := filepath.Glob(filepath.Join(filepath.Dir(path), "parts", "*.yaml"))
		for _, p := range own {
			if parts["parts/"+filepath.Base(p)], err = os.ReadFile(p); err != nil {
				t.Fatal(err)
			}
		}
		with, _ := cat.With(parts)
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		d, ds := design.Read("build.yaml", src, with)
		if d == nil {
			t.Fatalf("%s: %v", path, ds)
		}
		l, ds := loom.Plan(d)
		if l == nil {
			t.Fatalf("%s: %v", path, ds)
		}
		name := filepath.Base(path)
		if name == "build.yaml" {
			name = filepath.Base(filepath.Dir(path))
		}
		out[strings.TrimSuffix(name, ".yaml")] = New(d, l)
	}
	if len(out) < 20 {
		t.Fatalf("only %d builds were found", len(out))
	}
	return out
}

// TestNothingClashesOnAnyBuild draws every example on the page, on A3 and on A4.
func TestNothingClashesOnAnyBuild(t *testing.T) {
	for name, b := range boards(t) {
		for _, size := range [][2]harness.Px{{1000, 0}, {1434, 860}, {969, 580}} {
			tree := b.Tree("harness", size[0], nil)
			tree.Height = size[1]
			sheets := tree.Sheets()
			for i, d := range sheets {
				if c := drawing.Clashes(d); len(c) > 0 {
					t.Errorf("%s, sheet %d of %d, %.0f × %.0f:\n  %s", name, i+1, len(sheets), d.W, d.H, strings.Join(c[:min(5, len(c))], "\n  "))
				}
				if d.W > size[0]+0.5 || size[1] > 0 && d.H > size[1]+0.5 {
					t.Errorf("%s, sheet %d of %d is %.0f × %.0f, at most %.0f × %.0f", name, i+1, len(sheets), d.W, d.H, size[0], size[1])
				}
			}
		}
	}
}

// TestEveryWireEnds: both ends of every wire sit on the board, every thing is
// there once, and connectors are numbered without a gap.
func TestEveryWireEnds(t *testing.T) {
	for name, b := range boards(t) {
		for i := range b.Loom.Wires {
			w := &b.Loom.Wires[i]
			for _, e := range []loom.End{w.From, w.To} {
				if _, ok := b.Seat(e.Node); !ok {
					t.Errorf("%s: wire %d ends at %q, which sits nowhere", name, w.Number, e.Node)
				}
			}
		}
		seen := map[string]bool{}
		for _, p := range b.places {
			for _, r := range p.Rows {
				for _, th := range r.Things {
					if seen[th.ID] {
						t.Errorf("%s: %s stands twice", name, th.ID)
					}
					seen[th.ID] = true
				}
			}
		}
		for i, c := range b.Connectors {
			if c.Number != i+1 || len(c.Ways) > 0 && !seen[c.ID()] {
				t.Errorf("%s: connector %d is %s, on the board: %v", name, i+1, c.ID(), seen[c.ID()])
			}
		}
	}
}
