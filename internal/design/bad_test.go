package design_test

import (
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"fettle/internal/buildfile/badtest"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/loom"
)

var items = sync.OnceValues(catalogue.Open)

// read reads a build file as the program does, up to its wiring.
func read(tb testing.TB, file string, src []byte) (*design.Design, []diag.Diagnostic) {
	tb.Helper()
	cat, err := items()
	if err != nil {
		tb.Fatal(err)
	}
	d, ds := design.Read(file, src, cat)
	if d == nil {
		return nil, ds
	}
	_, bad := loom.Plan(d)
	return d, diag.Sort(append(ds, bad...))
}

// TestBadFiles reads faulty vehicles, each of which says in comments what must
// be told about it, and nothing else may be.
func TestBadFiles(t *testing.T) {
	badtest.Run(t, filepath.Join("testdata", "bad"), func(file string, src []byte) []diag.Diagnostic {
		_, ds := read(t, file, src)
		return withRelated(ds)
	})
}

// withRelated lists the places that belong to a message beside it, so that they
// are asked for as well: "the stroke [related]".
func withRelated(ds []diag.Diagnostic) []diag.Diagnostic {
	out := slices.Clone(ds)
	for _, d := range ds {
		for _, r := range d.Related {
			out = append(out, diag.Errorf(r.Pos, "related", "%s", r.Msg))
		}
	}
	return out
}

// TestGoodFiles reads the vehicles that the faulty ones were made from.
func TestGoodFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "good", "*.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files: %v", err)
	}
	for _, f := range files {
		src, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		d, ds := read(t, filepath.Base(f), src)
		for _, m := range ds {
			t.Errorf("%v (hint: %s)", m, m.Hint)
		}
		if d == nil {
			t.Errorf("%s does not read", f)
		}
	}
}
