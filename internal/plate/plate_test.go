package plate

import (
	"fmt"
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
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob("../demo/clean/*.yaml")
	if err != nil || len(names) < 20 {
		t.Fatalf("%d builds, %v", len(names), err)
	}
	layouts := map[string]int{}
	for _, name := range names {
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
