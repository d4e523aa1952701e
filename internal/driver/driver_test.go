package driver

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// openData is the folder of open data, or a skip; CI must have it.
func openData(t *testing.T, name string) []byte {
	t.Helper()
	dir := os.Getenv("FETTLE_OPEN_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("the open data are not there: %v", err)
		}
		t.Skipf("the open data are not there: %v", err)
	}
	return text
}

func TestCycles(t *testing.T) {
	for _, c := range []struct {
		file              string
		km, peakKmh, endS float64
		source            string
	}{
		{"udds.csv", 11.990, 91.25, 1369, "40 CFR 86 appendix I"},
		{"hwfet.csv", 16.507, 0, 765, "40 CFR 86 appendix I"},
		{"us06.csv", 12.888, 0, 600, "40 CFR 86 appendix I"},
		{"wltc_3b.csv", 23.266, 131.3, 1800, "UN GTR 15"},
	} {
		r, found := ReadRoute(bytes.NewReader(openData(t, "cycles/"+c.file)), c.file)
		if len(found) > 0 {
			t.Errorf("%s: %v", c.file, found)
			continue
		}
		if got := r.DistanceM() / 1e3; math.Abs(got-c.km) > 0.002*c.km {
			t.Errorf("%s: %.3f km, want %.3f (%s)", c.file, got, c.km, c.source)
		}
		if r.EndS() != c.endS {
			t.Errorf("%s ends at %g s, want %g", c.file, r.EndS(), c.endS)
		}
		peak := 0.0
		for _, v := range r.SpeedMPerS {
			peak = math.Max(peak, 3.6*v)
		}
		if c.peakKmh > 0 && math.Abs(peak-c.peakKmh) > 0.1 {
			t.Errorf("%s: peak %.2f km/h, want %.2f (%s)", c.file, peak, c.peakKmh, c.source)
		}
	}
}

func TestBadRoutes(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"hole", "time [s],speed [km/h]\n0,0\n1,10\n200,20\n", "r.csv:4:1: error: nothing between 1 s and 200 s: a hole of 199 s"},
		{"empty cell", "time [s],speed [km/h]\n0,0\n1,\n", `r.csv:3:3: error: the cell under "speed" is empty`},
		{"negative", "time [s],speed [km/h]\n0,0\n1,-5\n", "r.csv:3:3: error: speed -5 km/h is outside 0 … 324 km/h"},
		{"text", "time [s],speed [km/h]\n0,0\n1,fast\n", `r.csv:3:3: error: "fast" under "speed" is not a number`},
		{"unit in number", "time [s],speed [km/h]\n0,0\n1,5 km/h\n", "is not a number"},
		{"wrong unit", "time [s],speed [kg]\n0,0\n1,1\n", "r.csv:1:10: error:"},
		{"no unit", "time [s],speed\n0,0\n1,1\n", `r.csv:1:10: error: the heading "speed" gives no unit`},
		{"no speed", "time [s],rpm\n0,0\n", "no column is headed as speed"},
		{"time back", "time [s],speed [m/s]\n0,0\n2,1\n1,1\n", "r.csv:4:1: error: time 1 s follows 2 s"},
		{"comma", "time [s],speed [m/s]\n0,0\n1,0,5\n", "the row has 3 cells, the heading 2"},
		{"steep", "time [s],speed [m/s],grade [%]\n0,0,0\n1,1,70\n", "r.csv:3:5: error: grade 70 %"},
		{"nothing", "", "the route has 0 points"},
		{"too fast", "time [s],speed [mph]\n0,0\n1,500\n", "r.csv:3:3"},
	} {
		r, found := ReadRoute(strings.NewReader(c.text), "r.csv")
		var all []string
		for _, d := range found {
			all = append(all, d.String())
		}
		if got := strings.Join(all, "\n"); !strings.Contains(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
		if len(r.TimeS) > 0 {
			t.Errorf("%s: a faulty route was handed back", c.name)
		}
	}
}

func TestHills(t *testing.T) {
	r := Hills()
	up, net := 0.0, 0.0
	for i := 1; i < len(r.TimeS); i++ {
		h := (r.SpeedMPerS[i] + r.SpeedMPerS[i-1]) / 2 * (r.TimeS[i] - r.TimeS[i-1]) * r.GradeFrac[i]
		up, net = up+math.Max(0, h), net+h
	}
	if up < 150 || r.SpeedMPerS[len(r.SpeedMPerS)-1] > 0.5 {
		t.Errorf("climbs %.0f m (net %.0f), ends at %.1f m/s", up, net, r.SpeedMPerS[len(r.SpeedMPerS)-1])
	}
}

func FuzzReadRoute(f *testing.F) {
	f.Add([]byte("time [s],speed [km/h]\n0,0\n1,10\n"))
	f.Fuzz(func(_ *testing.T, text []byte) { ReadRoute(bytes.NewReader(text), "r.csv") })
}
