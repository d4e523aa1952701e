package plate

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/loom"
)

// TestPlatesOfTheCleanBuilds draws inline, V and flat engines: every cylinder
// stands once, nothing clashes, and the order is that of the file.
func TestPlatesOfTheCleanBuilds(t *testing.T) {
	names, err := filepath.Glob("../demo/clean/*.yaml")
	if err != nil || len(names) < 20 {
		t.Fatalf("%d builds, %v", len(names), err)
	}
	layouts := map[string]int{}
	for _, name := range names {
		d, l := read(t, name)
		layouts[d.File.Engine.Layout]++
		for _, drawn := range []*drawing.Drawing{
			Engine(d, l, "plan", 986, false), Engine(d, l, "plan", 328, true), Trigger(d, "trigger", 986), Trigger(d, "trigger", 328),
		} {
			if c := drawing.Clashes(drawn); len(c) > 0 {
				t.Errorf("%s: %s", name, strings.Join(c, "; "))
			}
		}
		var page strings.Builder
		if err := drawing.SVG(&page, Engine(d, l, "plan", 986, false), drawing.SVGOptions{}); err != nil {
			t.Fatal(err)
		}
		for c := 1; c <= d.File.Engine.Cylinders; c++ {
			if n := strings.Count(page.String(), fmt.Sprintf(`id="plan-bore-%d"`, c)); n != 1 {
				t.Errorf("%s: cylinder %d stands %d times", name, c, n)
			}
		}
		for _, unit := range loom.Units(d) {
			for _, p := range l.Plugs(unit) {
				f := Face(l, &p, func(w *loom.PlugWay) string { return w.Name })
				f.Name, f.Width = "face", 636
				if c := drawing.Clashes(f.Draw()); len(f.Ways) != len(p.Ways) || len(c) > 0 {
					t.Errorf("%s, plug %s: %s", name, p.Letter, strings.Join(c, "; "))
				}
			}
		}
	}
	if layouts["inline"] == 0 || layouts["V"] == 0 || layouts["flat"] == 0 {
		t.Errorf("layouts %v", layouts)
	}
}

func TestOrdinals(t *testing.T) {
	for n, want := range map[int]string{0: "never fires", 1: "fires 1st", 2: "fires 2nd", 3: "fires 3rd", 4: "fires 4th", 11: "fires 11th", 12: "fires 12th", 13: "fires 13th"} {
		if got := ordinal(n); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}

// read resolves a build of the examples, with its own parts.
func read(t *testing.T, name string) (*design.Design, *loom.Loom) {
	t.Helper()
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	parts := map[string][]byte{}
	own, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "parts", "*.yaml"))
	for _, p := range own {
		if parts["parts/"+filepath.Base(p)], err = os.ReadFile(p); err != nil {
			t.Fatal(err)
		}
	}
	cat, ds := cat.With(parts)
	if len(ds) > 0 {
		t.Fatal(ds)
	}
	src, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	tree, _ := buildfile.Parse(name, src)
	d, ds := design.FromTree(tree, cat)
	if d == nil {
		t.Fatalf("%s: %v", name, ds)
	}
	l, _ := loom.Plan(d)
	return d, l
}

// TestUnevenFirings: a V6 of 90° on three shared crank pins fires after 90° and
// 150° in turn. Source: geometry; each bank by itself fires every 240°, and two rods
// on a pin reach their tops 90° apart.
func TestUnevenFirings(t *testing.T) {
	d, _ := read(t, "../demo/clean/pickup-odd-six.yaml")
	for i, want := range []drawing.Number{0, 90, 240, 330, 480, 570} {
		if got := deadCentres(d).Marks[i].At; math.Abs(float64(got-want)) > 1e-9 {
			t.Errorf("firing %d at %v°, want %v°", i+1, got, want)
		}
	}
	if f := firedFoot(d); !strings.Contains(f, "90° and 150°") {
		t.Errorf("told as %q", f)
	}
	d.File.Engine.BankAngleRad = nil
	if f := firedFoot(d); !strings.Contains(f, "does not say") || deadCentres(d).Marks[1].At != 120 {
		t.Errorf("without the angle of the banks: %q, %v", f, deadCentres(d).Marks[1].At)
	}
}

// TestSharedWays: with wasted spark and injectors in pairs the two cylinders that
// fire one turn apart stand at one way, and every way at two cylinders. Source: the
// geometry of four strokes, partners half the firing order apart.
func TestSharedWays(t *testing.T) {
	d, l := read(t, "../demo/pickup/build.yaml")
	for _, kind := range []string{"injector", "coil"} {
		at := map[string][]int{}
		for _, c := range d.Firing {
			w := Channel(d, l, kind, c)
			at[w] = append(at[w], c)
		}
		for i, pair := range [][2]int{{1, 6}, {8, 5}, {4, 7}, {3, 2}} {
			if got := at[Channel(d, l, kind, pair[0])]; len(got) != 2 || got[0] != pair[0] || got[1] != pair[1] {
				t.Errorf("%s %d serves %v, want %v", kind, i+1, got, pair)
			}
		}
		if len(at) != 4 || at[""] != nil {
			t.Errorf("%s: %v", kind, at)
		}
	}
	// The file names the injectors for the cylinders that they serve.
	for pin, device := range map[string]string{Channel(d, l, "injector", 1): "injectors one six", Channel(d, l, "injector", 7): "injectors four seven"} {
		for _, p := range l.Pins {
			if p.Pin == pin && !strings.HasPrefix(p.Device, device) {
				t.Errorf("way %s serves %s, want %s", pin, p.Device, device)
			}
		}
	}
	d.File.Engine.Fires = unevenly
	if w := Channel(d, l, "coil", 1); w != "" {
		t.Errorf("an engine that fires unevenly has partners at %s", w)
	}
}
