package drawing

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestGolden holds a few drawings still: first their geometry, which tells what
// moved, then the bytes.
func TestGolden(t *testing.T) {
	for name, d := range map[string]*Drawing{
		"room": demoRooms()[0].Draw(), "chain": demoChain(1000).Draw(),
		"oneline": demoOneLine(1000).Draw(), "ladder": demoLadder(640).Draw(),
	} {
		t.Run(name, func(t *testing.T) {
			golden(t, name+".json", func(w io.Writer) error { return Geometry(w, d) })
			golden(t, name+".svg", func(w io.Writer) error { return SVG(w, d, SVGOptions{}) })
		})
	}
}

func golden(t *testing.T, name string, write func(io.Writer) error) {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(b.String(), "\n")); diff != "" {
		t.Errorf("%s changed (-want +got); if it is meant, run with -update:\n%s", name, diff)
	}
}

// Rows of the published table that are not among our stops.
func TestCividisRows(t *testing.T) {
	for _, c := range []struct {
		name   string
		row    float64
		want   [3]float64
		tol    float64
		source string
	}{
		{"first", 0, [3]float64{0, .135112, .304751}, 1, "Nuñez, Anderton, Renslow 2018, table S1, row 0"},
		{"12", 12, [3]float64{0, .168204, .385902}, 2, "same, row 12"},
		{"36", 36, [3]float64{.130669, .231458, .432840}, 2, "same, row 36"},
		{"72", 72, [3]float64{.294669, .329531, .423716}, 2, "same, row 72"},
		{"136", 136, [3]float64{.517920, .508454, .472707}, 2, "same, row 136"},
		{"184", 184, [3]float64{.704037, .654731, .437147}, 2, "same, row 184"},
		{"232", 232, [3]float64{.905589, .818257, .312889}, 2, "same, row 232"},
		{"last", 255, [3]float64{.995737, .909344, .217772}, 1, "same, row 255"},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := CividisAt(c.row / 255)
			for i, v := range []uint8{g.R, g.G, g.B} {
				// 2 of 255 levels: straight pieces between 25 stops of 256.
				if math.Abs(float64(v)-255*c.want[i]) > c.tol {
					t.Errorf("channel %d = %d, want %.1f ± %v (%s)", i, v, 255*c.want[i], c.tol, c.source)
				}
			}
		})
	}
}

func TestContrastRows(t *testing.T) {
	for _, c := range []struct {
		name   string
		a, b   RGB
		want   float64
		tol    float64
		source string
	}{
		{"black on white", RGB{}, RGB{255, 255, 255}, 21, 1e-9, "W3C, WCAG 2.2, contrast ratio: ranges from 1 to 21"},
		{"alike", RGB{9, 9, 9}, RGB{9, 9, 9}, 1, 1e-9, "W3C, WCAG 2.2, contrast ratio: ranges from 1 to 21"},
		{"#767676 on white", RGB{0x76, 0x76, 0x76}, RGB{255, 255, 255}, 4.54, 0.005, "the lightest grey that passes 4.5 on white, from memory"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := ContrastRatio(c.a, c.b); math.Abs(got-c.want) > c.tol {
				t.Errorf("contrast = %v, want %v (%s)", got, c.want, c.source)
			}
		})
	}
}

// WCAG 2.2, success criterion 1.4.3, asks for 4.5 for text of this size.
func TestShadedFiguresAreLegible(t *testing.T) {
	for i := range 1001 {
		f := Fill{Shade: Cividis, LevelFrac: float64(i) / 1000}
		if got := ContrastRatio(f.colour(&screen), screen[f.On()]); got < 4.5 {
			t.Fatalf("contrast at %v is %.2f, want 4.5 at least", f.LevelFrac, got)
		}
	}
	for _, r := range []Role{Ink, Soft, Accent} {
		if got := ContrastRatio(screen[r], screen[Paper]); got < 4.5 {
			t.Errorf("%v on paper has contrast %.2f, want 4.5 at least", r, got)
		}
	}
}

func TestClashesSeesFaults(t *testing.T) {
	plain := Text{X: 10, Y: 30, S: "11.4 V", Size: 12}
	for _, c := range []struct {
		name string
		add  Item
		want string
	}{
		{"text on text", Text{X: 20, Y: 34, S: "5.9 A", Size: 12}, "overlaps"},
		{"line through", Line{0, 26, 90, 26, Thin}, "crossed"},
		{"curve through", Path{Steps: []Step{{P: Point{15, 0}}, {Kind: CurveTo, A: Point{15, 20}, B: Point{20, 30}, P: Point{25, 60}}}, Pen: Thin}, "crossed"},
		{"circle through", Circle{X: 20, Y: 10, R: 14, Pen: Thin}, "crossed"},
		{"hatched over", Hatch{X: 0, Y: 0, W: 90, H: 40, Gap: 6, Pen: Thin}, "crossed"},
		{"off the edge", Text{X: 90, Y: 90, S: "off", Size: 12}, "leaves"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := &Drawing{W: 100, H: 100, Items: []Item{plain, c.add}}
			if got := strings.Join(Clashes(d), "; "); !strings.Contains(got, c.want) {
				t.Errorf("Clashes = %q, want one that says %q", got, c.want)
			}
		})
	}
	if got := Clashes(&Drawing{W: 100, H: 100, Items: []Item{plain, Line{0, 36, 90, 36, Thin}}}); got != nil {
		t.Errorf("a clean drawing clashes: %q", got)
	}
}

func label(t *rapid.T, name string) string {
	return rapid.StringMatching(`[A-Za-z0-9]{1,14}( [a-zΩµ0-9.]{1,9}){0,6}`).Draw(t, name)
}

func labels(t *rapid.T, name string) (out []Label) {
	for range rapid.IntRange(0, 3).Draw(t, name+"#") {
		out = append(out, Label{Text: label(t, name), Bad: rapid.Bool().Draw(t, "bad")})
	}
	return out
}

// Whatever the lettering, nothing overlaps and nothing leaves the drawing.
func TestPiecesNeverClash(t *testing.T) {
	check := func(t *rapid.T, d *Drawing) {
		if c := Clashes(d); len(c) > 0 {
			t.Fatalf("%.0f × %.0f: %s", d.W, d.H, strings.Join(c, "\n"))
		}
	}
	t.Run("chain", rapid.MakeCheck(func(t *rapid.T) {
		c := Chain{Width: Px(rapid.IntRange(300, 1200).Draw(t, "width"))}
		for range rapid.IntRange(1, 7).Draw(t, "nodes") {
			c.Nodes = append(c.Nodes, Node{
				Kind: Kind(rapid.IntRange(0, int(Wheel)).Draw(t, "kind")), Mark: rapid.StringMatching("[A-Z]{0,6}").Draw(t, "mark"),
				Name: label(t, "name"), Notes: labels(t, "note"), Bad: rapid.Bool().Draw(t, "bad"),
				Parts: rapid.IntRange(-1, 20).Draw(t, "parts"), Banks: rapid.IntRange(0, 5).Draw(t, "banks"),
			})
			c.Stretches = append(c.Stretches, Stretch{Above: labels(t, "above"), Below: labels(t, "below")})
		}
		check(t, c.Draw())
	}))
	t.Run("ladder", rapid.MakeCheck(func(t *rapid.T) {
		l := Ladder{Width: Px(rapid.IntRange(300, 900).Draw(t, "width")), HeadVolt: "to battery −", HeadDrop: "lost"}
		n := rapid.IntRange(0, 8).Draw(t, "rungs")
		for i := range n {
			r := Rung{Name: label(t, "name"), Volt: Label{Text: "13.62 V"}}
			if i < n-1 {
				r.Then = &Element{Name: label(t, "element"), Drop: Label{Text: "−1.04 V"}, DropV: rapid.Float64Range(-1, 12).Draw(t, "drop"), Load: i == 2, Return: i > 2}
			}
			l.Rungs = append(l.Rungs, r)
		}
		check(t, l.Draw())
	}))
	t.Run("oneline", rapid.MakeCheck(func(t *rapid.T) { check(t, anyOneLine(t).Draw()) }))
}

func anyOneLine(t *rapid.T) OneLine {
	device := func(name string) *Device {
		if rapid.Bool().Draw(t, name+"?") {
			return nil
		}
		d := &Device{Name: label(t, name), Bad: rapid.Bool().Draw(t, "bad")}
		if rapid.Bool().Draw(t, "load?") {
			d.Load = Label{Text: label(t, "load")}
		}
		return d
	}
	o := OneLine{Width: Px(rapid.IntRange(500, 1200).Draw(t, "width")), Bus: Label{Text: label(t, "bus")}, Post: Label{Text: label(t, "post")}, Feed: device("feed")}
	for range rapid.IntRange(0, 3).Draw(t, "sources") {
		o.Sources = append(o.Sources, Source{
			Kind: Kind(rapid.SampledFrom([]Kind{Battery, Alternator, Motor}).Draw(t, "kind")), Name: label(t, "source"),
			Figures: labels(t, "figure"), Fuse: device("cable fuse"), Ground: rapid.SampledFrom([]string{"", "G1", "G12 body bolt"}).Draw(t, "ground"),
		})
	}
	for range rapid.IntRange(0, 4).Draw(t, "mains") {
		m := Main{Fuse: device("main"), Same: rapid.Bool().Draw(t, "same"), Relay: device("relay"), Bus: Label{Text: "13.94 V"}}
		for range rapid.IntRange(0, 4).Draw(t, "feeds") {
			m.Feeds = append(m.Feeds, Feed{
				Fuse: device("fuse"), Relay: device("feed relay"), Wire: Label{Text: label(t, "wire")}, Load: label(t, "load"),
				Volt: Label{Text: "13.7 V"}, Amp: Label{Text: "8.2 A"}, Ground: "G2", Bad: rapid.Bool().Draw(t, "bad"),
			})
		}
		o.Mains = append(o.Mains, m)
	}
	return o
}

// Parting a diagram loses no feed, keeps their order and heeds the height.
func TestOneLineSheets(t *testing.T) {
	names := func(os []OneLine) (out []string) {
		for _, o := range os {
			for _, m := range o.Mains {
				for _, f := range m.Feeds {
					out = append(out, f.Load)
				}
			}
		}
		return out
	}
	o := longOneLine(636)
	for range 3 {
		o.Mains = append(o.Mains, o.Mains...)
	}
	want := names([]OneLine{o})
	for _, most := range []Px{10, 200, 450, 900, 1e5} {
		parts := o.Sheets(most)
		if diff := cmp.Diff(want, names(parts)); diff != "" {
			t.Errorf("at %v px: %s", most, diff)
		}
		for i, p := range parts {
			// A single feed and the sources over it can’t be parted further.
			if h := p.Draw().H; h > most && most >= 450 {
				t.Errorf("part %d is %.0f px tall, allowed %v", i+1, h, most)
			}
		}
	}
	if n := len(o.Sheets(1e5)); n != 1 {
		t.Errorf("what fits one sheet takes %d", n)
	}
}

func TestSVGIsWellFormed(t *testing.T) {
	nasty := `<script>&"'` + "\x00\x1f\ufffe\xff</text>"
	d := &Drawing{Name: "a b/ü", Title: nasty, W: 100, H: 50, Items: []Item{
		Group{ID: nasty, Title: nasty, Ref: "full/fuel pump/VoltageV", Items: []Item{Text{X: Px(math.NaN()), Y: 10, S: nasty, Size: 12}}},
		Rect{X: 1, Y: 2, W: -3, H: Px(math.Inf(1))},
		Hatch{W: 1e9, H: 1e9, Pen: Thin},
		Path{},
		Circle{R: -1},
	}}
	for _, o := range []SVGOptions{{}, {Alone: true}, {Class: nasty, Fixed: true, Href: func(string) string { return nasty }}} {
		var b bytes.Buffer
		if err := SVG(&b, d, o); err != nil {
			t.Fatal(err)
		}
		dec := xml.NewDecoder(&b)
		for {
			if _, err := dec.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%+v: %v", o, err)
			}
		}
	}
	var b bytes.Buffer
	if err := SVG(&b, d, SVGOptions{}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`href="/why/full/fuel%20pump/VoltageV" data-fig="full/fuel pump/VoltageV"`, `role="group"`, `id="a-b--"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in\n%s", want, b.String())
		}
	}
	if strings.Contains(b.String(), "style=") || strings.Contains(b.String(), "<style") {
		t.Error("a drawing for a page holds inline style, which the content policy forbids")
	}
}

func TestRoomShort(t *testing.T) {
	accented := func(r Room) bool {
		var b bytes.Buffer
		if err := Geometry(&b, r.Draw()); err != nil {
			t.Fatal(err)
		}
		return strings.Contains(b.String(), "accent")
	}
	for _, c := range []struct {
		name string
		r    Room
		want bool
	}{
		{"floor missed", Room{Value: 9.4, Limit: 10.3, AtLeast: true}, true},
		{"floor held", Room{Value: 10.4, Limit: 10.3, AtLeast: true}, false},
		{"ceiling broken", Room{Value: 93, Limit: 85}, true},
		{"ceiling held", Room{Value: 78, Limit: 85, P05: 74, P95: 86}, false},
		{"both nought", Room{}, false},
		{"not solved", Room{Value: Number(math.NaN()), Limit: 1}, false},
		{"endless", Room{Value: Number(math.Inf(1)), Limit: 1}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := accented(c.r); got != c.want {
				t.Errorf("accented = %v, want %v", got, c.want)
			}
		})
	}
}

func TestPDFTakesEverything(t *testing.T) {
	p := fpdf.New("P", "pt", "A4", "")
	p.SetCompression(false)
	AddFonts(p)
	p.AddPage()
	for _, d := range allPieces() {
		PDF(p, d, Frame{X: 10, Y: 10, ScaleRatio: 0.5})
	}
	nan := Px(math.NaN())
	PDF(p, &Drawing{Items: []Item{
		Line{nan, 0, 1, 1, Thin},
		Text{X: nan, S: "😀\x00漢", Size: 12, Up: true, Role: Accent},
		Text{S: "x", Size: Px(math.Inf(1))},
		Rect{W: nan, Fill: Fill{Shade: GreyTo, LevelFrac: 2}},
		Path{},
		Circle{R: nan, Pen: Thin},
		Text{X: 9, Y: 9, S: "end", Anchor: End, Size: 9, Bold: true},
	}}, Frame{ScaleRatio: math.NaN()})
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(b.Bytes(), []byte("NaN")) || bytes.Contains(b.Bytes(), []byte("Inf ")) {
		t.Error("the PDF holds what is no number")
	}
}
