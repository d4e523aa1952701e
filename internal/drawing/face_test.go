package drawing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// demoFace is an invented plug of four rows.
func demoFace(w Px, mating, brief bool) Face {
	f := Face{Name: fmt.Sprintf("face-%.0f-%v", float64(w), mating), Title: "Plug A", Width: w, Rows: 4, Mating: mating, Brief: brief, Foot: "Seen from the side where the wires enter; way 1 at the notch."}
	for i := range 56 {
		way := FaceWay{Mark: fmt.Sprint(i + 1), To: "#way"}
		switch {
		case i%7 == 3:
		case i > 50:
			way.Use = Blanked
		default:
			way.Use, way.Serves, way.Colour = Used, []string{"injector 3 2", "front knock sensor 1", "exhaust cam sensor signal of bank two", "throttle 4"}[i%4], []string{"BK", "GNWH"}[i%2]
		}
		way.Picked, way.Bad = i == 12, i == 17
		f.Ways = append(f.Ways, way)
	}
	return f
}

// centreOf finds where a way's number stands.
func centreOf(t *testing.T, d *Drawing, mark string) Point {
	t.Helper()
	for _, it := range d.Items {
		g, ok := it.(Group)
		if !ok {
			continue
		}
		var frame Rect
		found := false
		for _, in := range g.Items {
			if r, ok := in.(Rect); ok && r.H > 20 {
				frame = r
			}
			if x, ok := in.(Text); ok && x.S == mark {
				found = true
			}
		}
		if found {
			return Point{frame.X + frame.W/2, frame.Y + frame.H/2}
		}
	}
	t.Fatalf("no way %q", mark)
	return Point{}
}

// TestFacesMirror: the mating side is the wire side with left and right
// exchanged, way for way, and its housing too.
func TestFacesMirror(t *testing.T) {
	a, b := demoFace(1000, false, false).Draw(), demoFace(1000, true, false).Draw()
	axis := centreOf(t, a, "1").X + centreOf(t, b, "1").X
	for i := range 56 {
		p, q := centreOf(t, a, fmt.Sprint(i+1)), centreOf(t, b, fmt.Sprint(i+1))
		if math.Abs(float64(p.X+q.X-axis)) > 1e-6 || p.Y != q.Y {
			t.Errorf("way %d stands at %v and %v, which mirror about %v", i+1, p, q, axis/2)
		}
	}
	wall := func(d *Drawing) []Point {
		var out []Point
		for _, s := range d.Items[0].(Path).Steps {
			out = append(out, s.P)
		}
		return out
	}
	p, q := wall(a), wall(b)
	for i := range p {
		if math.Abs(float64(p[i].X+q[i].X-axis)) > 1e-6 || p[i].Y != q[i].Y {
			t.Errorf("the wall's corner %d stands at %v and %v", i, p[i], q[i])
		}
	}
	// Way 1 is at the notch, and the row runs on from it.
	if one, two := centreOf(t, a, "1"), centreOf(t, a, "2"); !(one.X < two.X && one.Y == two.Y) || !(p[len(p)-1].X < one.X) {
		t.Errorf("from the wire side way 1 stands at %v, way 2 at %v, the notch at %v", one, two, p[len(p)-1])
	}
}

// TestFacesLead: every way is a link on a page and none in a file of its own.
func TestFacesLead(t *testing.T) {
	var page, file strings.Builder
	d := demoFace(1000, false, false).Draw()
	if err := SVG(&page, d, SVGOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := SVG(&file, d, SVGOptions{Alone: true}); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(page.String(), `<a href="#way"`); n != 56 || strings.Contains(page.String(), "data-fig") {
		t.Errorf("%d links", n)
	}
	if strings.Contains(file.String(), "<a ") {
		t.Error("a file of its own holds links")
	}
}

func TestFacesNeverClash(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Face{Name: "f", Width: Px(rapid.IntRange(120, 1000).Draw(t, "width")), Rows: rapid.IntRange(-1, 7).Draw(t, "rows"), Mating: rapid.Bool().Draw(t, "mating"), Brief: rapid.Bool().Draw(t, "brief"), Foot: label(t, "foot")}
		for i := range rapid.IntRange(0, 80).Draw(t, "ways") {
			f.Ways = append(f.Ways, FaceWay{
				Mark: fmt.Sprint(i + 1), Serves: label(t, "serves"), Colour: rapid.SampledFrom([]string{"", "BK", "GNWH"}).Draw(t, "colour"),
				Use: FaceUse(rapid.IntRange(0, 2).Draw(t, "use")), Picked: rapid.IntRange(0, 9).Draw(t, "picked") == 0,
			})
		}
		if c := Clashes(f.Draw()); len(c) > 0 {
			t.Fatal(strings.Join(c, "\n"))
		}
	})
}
