package paper

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

var pictures = flag.String("pictures", "", "write the test document as PDF into this folder, to be looked at")

// sample is an invented book.
func sample() *Doc {
	d := New(Meta{
		Title: "The book of the camper", Vehicle: "Camper, 2.5 litre five, invented", File: "build.yaml, saved 2026-11-03",
		Assumed: "31 of 214 values, in brackets", Subject: "Wiring, fuel and calibration of an invented vehicle", DateISO: "2026-11-03",
	})
	d.Sheet("Cover")
	d.Verdict(Run{Text: "It would start, then "}, Run{Text: "starve at full power.", Accent: true})
	d.Lede("The pump sees 11.4 V through 0.5 mm² wire, and 9.4 g/s of fuel reach an engine that burns 10.3 g/s. Mending wire 23 ends two of the five findings.")
	d.Caution("Fuel stands under pressure for hours after the engine stops. Let the pressure off into a closed vessel, away from anything that sparks, before a line is opened.")
	d.Caution("A battery that is charged gives off hydrogen. Keep flames away and take the negative post off first.")
	d.Heading("What is in this book")
	d.Contents()
	d.Sheet("Findings")
	d.Heading("In the way, worst first")
	for i := range 9 {
		d.Finding(Finding{
			Severity: []string{"stop", "fix", "note"}[i%3], Wrong: i%3 == 0,
			What:         "Wire 23 and its return lose 2.7 V; the pump needs 12.0 V and gets 11.4 V",
			Where:        "build.yaml:114:7, loom, wire 23",
			Why:          "0.5 mm² over 2 × 4.6 m at 80 °C has 0.46 Ω; at 5.9 A that is 2.7 V.",
			Mend:         "2.5 mm² out and a return to the body beside the tank: 13.5 V at the pump, 2.7 g/s of fuel to spare.",
			Consequences: []string{"fuel runs 9 % short above 4900 rpm", "lambda rises to 0.97"},
		})
	}
	d.Sheet("Power, one-line")
	d.Heading("Full power, 38 °C")
	d.Draw(oneLine(), "One-line diagram. Dashes: return path. In brackets: assumed.")
	d.Draw(drawing.Chain{
		Name: "chain", Title: "From alternator to wheels", Width: WidthPx(),
		Nodes: []drawing.Node{
			{Kind: drawing.Alternator, Name: "Alternator"},
			{Kind: drawing.Pump, Name: "Pump", Bad: true},
			{Kind: drawing.Rail, Name: "Rail", Parts: 5},
			{Kind: drawing.Engine, Name: "Engine", Parts: 5},
			{Kind: drawing.Wheel, Name: "Wheels"},
		},
		Stretches: []drawing.Stretch{
			{Above: []drawing.Label{{Text: "11.4 V", Bad: true}}, Bad: true},
			{Above: []drawing.Label{{Text: "9.4 g/s"}}},
			{Above: []drawing.Label{{Text: "331 kPa"}}},
			{Above: []drawing.Label{{Text: "118 kW"}}},
		},
	}.Draw(), "")
	d.Sheet("Pin table")
	d.Heading("Every terminal")
	t := Table{Cols: []Col{{Head: "Way"}, {Head: "Wire", Right: true}, {Head: "Colour"}, {Head: "Size, mm²", Right: true}, {Head: "From"}, {Head: "To"}, {Head: "Current, A", Right: true}}}
	for i := range 70 {
		r := Row(fmt.Sprintf("X1/%d", i+1), fmt.Sprint(i+1), "BN", "0.5", "controller, bank 1 injector driver, low side", "injector of cylinder "+fmt.Sprint(i%5+1), "(1.2)")
		if i == 22 {
			r[3] = Cell{Text: "0.5", Accent: true}
		}
		t.Rows = append(t.Rows, r)
	}
	d.Table(t)
	d.Sheet("Tables")
	d.Heading("Volumetric efficiency, %")
	d.Shaded(shaded(16, 16))
	d.Heading("Dead time, ms")
	d.Shaded(shaded(1, 8))
	d.Heading("Drives")
	d.Table(Table{Cols: []Col{{Head: "Drive"}}, Empty: "No drive has been recorded yet."})
	return d
}

func oneLine() *drawing.Drawing {
	o := drawing.OneLine{Name: "power", Title: "Power", Width: WidthPx(), Bus: drawing.Label{Text: "B+ 14.1 V"}}
	o.Sources = []drawing.Source{{Kind: drawing.Battery, Name: "Battery", Ground: "G1"}, {Kind: drawing.Alternator, Name: "Alternator", Figures: []drawing.Label{{Text: "78 A of 85 A"}}, Ground: "G2"}}
	for i := range 4 {
		m := drawing.Main{Fuse: &drawing.Device{Name: fmt.Sprintf("M%d 40 A", i+1)}, Relay: &drawing.Device{Name: fmt.Sprintf("K%d", i+1)}}
		for j := range 3 {
			m.Feeds = append(m.Feeds, drawing.Feed{
				Fuse: &drawing.Device{Name: fmt.Sprintf("F%d 10 A", 3*i+j+1)}, Wire: drawing.Label{Text: "RD 1.5 mm²"}, Load: "Injectors 1 … 5",
				Volt: drawing.Label{Text: "13.7 V"}, Amp: drawing.Label{Text: "4.1 A"}, Ground: "G2",
			})
		}
		o.Mains = append(o.Mains, m)
	}
	return o.Draw()
}

func shaded(rows, cols int) Shaded {
	s := Shaded{Name: "ve", Corner: `rpm \ kPa`, LoLabel: "50 %", HiLabel: "105 %", Note: "In brackets: physics alone."}
	for c := range cols {
		s.ColHeads = append(s.ColHeads, fmt.Sprint(20+5*c))
	}
	for r := range rows {
		s.RowHeads = append(s.RowHeads, fmt.Sprint(600+400*r))
		var row []ShadedCell
		for c := range cols {
			v := 55 + 45*float64(r+c)/float64(rows+cols)
			row = append(row, ShadedCell{Text: fmt.Sprintf("(%.1f)", v), LevelFrac: (v - 50) / 55})
		}
		s.Cells = append(s.Cells, row)
	}
	return s
}

func write(t *testing.T, d *Doc) []byte {
	t.Helper()
	var b bytes.Buffer
	n, err := d.WriteTo(&b)
	if err != nil || n != int64(b.Len()) {
		t.Fatalf("WriteTo = %d, %v; wrote %d", n, err, b.Len())
	}
	return b.Bytes()
}

func TestNothingClashesOnPaper(t *testing.T) {
	for i, p := range sample().Pages() {
		if c := drawing.Clashes(p); len(c) > 0 {
			t.Errorf("sheet %d, %s:\n  %s", i+1, p.Title, strings.Join(c, "\n  "))
		}
	}
}

func TestSameBytes(t *testing.T) {
	d := sample()
	a, b, c := write(t, d), write(t, d), write(t, sample())
	if !bytes.Equal(a, b) || !bytes.Equal(a, c) {
		t.Error("the same document gives different bytes")
	}
	if *pictures != "" {
		if err := os.WriteFile(filepath.Join(*pictures, "book.pdf"), a, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestContentsAndHeads(t *testing.T) {
	pages := sample().Pages()
	text := func(p *drawing.Drawing) string {
		var out []string
		for _, it := range p.Items {
			if t, ok := it.(drawing.Text); ok {
				out = append(out, t.S)
			}
		}
		return strings.Join(out, "\n")
	}
	first := map[string]int{} // by title
	for i, p := range pages {
		if _, ok := first[p.Title]; !ok {
			first[p.Title] = i + 1
		}
	}
	cover := text(pages[0])
	for _, title := range []string{"Findings", "Power, one-line", "Pin table", "Tables"} {
		if want := fmt.Sprintf("%s\n%d\n", title, first[title]); !strings.Contains(cover, want) {
			t.Errorf("the contents lack %q:\n%s", want, cover)
		}
	}
	for i, p := range pages {
		got := text(p)
		if want := fmt.Sprintf("%d of %d, ", i+1, len(pages)); !strings.Contains(got, want) {
			t.Errorf("the title block of sheet %d lacks %q", i+1, want)
		}
		if p.Title == "Pin table" && !strings.Contains(got, "Colour") {
			t.Errorf("sheet %d lacks the table's head", i+1)
		}
	}
}

// TestReaders holds the file against two readers that know nothing of us.
func TestReaders(t *testing.T) {
	file := filepath.Join(t.TempDir(), "book.pdf")
	if err := os.WriteFile(file, write(t, sample()), 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) string {
		if _, err := exec.LookPath(name); err != nil {
			t.Skipf("%s is not installed", name)
		}
		out, err := exec.Command(name, args...).CombinedOutput()
		if err != nil {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
		return string(out)
	}
	if out := run("qpdf", "--check", file); !strings.Contains(out, "No syntax or stream encoding errors") {
		t.Errorf("qpdf: %s", out)
	}
	text := run("pdftotext", "-layout", file, "-")
	for _, want := range []string{"starve at full power.", "X1/70", "2.5 mm² out", "0.46 Ω", "1 of ", "31 of 214 values", "(55.0)"} {
		if !strings.Contains(text, want) {
			t.Errorf("pdftotext finds no %q", want)
		}
	}
	sheets := 0
	for _, p := range sample().Pages() {
		if p.Title == "Pin table" {
			sheets++
		}
	}
	if n := strings.Count(text, "Size, mm²"); sheets < 2 || n != sheets {
		t.Errorf("the pin table's head stands %d times on %d sheets", n, sheets)
	}
	if st, err := os.Stat(file); err != nil || st.Size() > 250_000 { // both faces whole take 1.2 MB
		t.Errorf("the file takes %d bytes, the faces can't have been cut to what is used", st.Size())
	}
	info := run("pdfinfo", file)
	for _, want := range []string{"The book of the camper", "2026", "A4"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo finds no %q in\n%s", want, info)
		}
	}
	for _, l := range strings.Split(strings.TrimSpace(run("pdffonts", file)), "\n")[2:] {
		if f := strings.Fields(l); len(f) < 5 || f[len(f)-5] != "yes" || f[len(f)-3] != "yes" {
			t.Errorf("font is not embedded and mapped to Unicode: %s", l)
		}
	}
}

func TestOddDocuments(t *testing.T) {
	long := strings.Repeat("a very long story about one wire ", 400)
	word := strings.Repeat("Überlandleitungsmast", 40)
	docs := map[string]func(d *Doc){
		"empty":    func(*Doc) {},
		"no sheet": func(d *Doc) { d.Para("text without a sheet") },
		"tall row": func(d *Doc) {
			d.Sheet("s")
			d.Table(Table{Cols: []Col{{Head: "a"}, {Head: "b"}}, Rows: [][]Cell{Row("x", long), Row("y")}})
		},
		"tall finding": func(d *Doc) { d.Finding(Finding{Severity: "stop", Wrong: true, What: long, Why: long}) },
		"tall caution": func(d *Doc) { d.Caution(long) },
		"long words": func(d *Doc) {
			d.Sheet(word)
			d.Heading(word)
			d.Para(word)
			d.Table(Table{Cols: []Col{{Head: word}, {Head: word}}, Rows: [][]Cell{Row(word, word)}})
		},
		"wide table": func(d *Doc) {
			d.Table(Table{Cols: make([]Col, 30), Rows: [][]Cell{Row(strings.Fields(strings.Repeat("12.5 ", 30))...)}})
		},
		"ragged shades": func(d *Doc) {
			d.Shaded(Shaded{ColHeads: []string{"1", "2"}, RowHeads: []string{"a", "b"}, Cells: [][]ShadedCell{{{Text: "1"}}}})
		},
		"many columns":  func(d *Doc) { d.Shaded(shaded(80, 40)) },
		"no such signs": func(d *Doc) { d.Sheet("漢字 😀\x00"); d.Para("漢字 😀 \x01 \xff") },
		"headings only": func(d *Doc) {
			d.Contents()
			for range 60 {
				d.Heading("h")
			}
		},
		"huge drawing": func(d *Doc) { d.Draw(&drawing.Drawing{W: 5000, H: 9000}, "c") },
		"no drawing":   func(d *Doc) { d.Heading("h"); d.Draw(nil, "c") },
		"contents at end": func(d *Doc) {
			for i := range 50 {
				d.Sheet(fmt.Sprint("sheet ", i))
			}
			d.Contents()
		},
	}
	for name, fill := range docs {
		t.Run(name, func(t *testing.T) {
			d := New(Meta{Title: "Odd"})
			fill(d)
			for i, p := range d.Pages() {
				if c := drawing.Clashes(p); len(c) > 0 {
					t.Errorf("sheet %d:\n  %s", i+1, strings.Join(c, "\n  "))
				}
			}
			if b := write(t, d); !bytes.HasPrefix(b, []byte("%PDF-")) {
				t.Error("not a PDF")
			}
		})
	}
}

func TestBadDate(t *testing.T) {
	if _, err := New(Meta{DateISO: "3 November"}).WriteTo(&bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), "3 November") {
		t.Errorf("error = %v, want one that quotes the date", err)
	}
}

// TestLyingSheets: a drawing on a sheet of its own keeps its size and stays
// within the frame; what follows begins a new page.
func TestLyingSheets(t *testing.T) {
	for _, f := range []Format{A4Lying, A3Lying} {
		w, h := f.Room()
		g := &drawing.Drawing{Name: "d", W: w, H: h, Items: []drawing.Item{drawing.Rect{W: w, H: h, Pen: drawing.Thin}}}
		d := New(Meta{Title: "T", Vehicle: "V", File: "F", Assumed: "none"})
		d.Wide("Harness", "Harness", f, g)
		d.Para("after")
		pages := d.Pages()
		if len(pages) != 2 {
			t.Fatalf("%s: %d pages, want 2", f, len(pages))
		}
		p := pages[0]
		wantW, wantH := 297*typeface.PxPerMM, 210*typeface.PxPerMM // ISO 216
		if f == A3Lying {
			wantW, wantH = 420*typeface.PxPerMM, 297*typeface.PxPerMM
		}
		if float64(p.W-Px(wantW)) > 0.01 || float64(p.H-Px(wantH)) > 0.01 {
			t.Errorf("%s is %.1f × %.1f px", f, p.W, p.H)
		}
		if c := drawing.Clashes(p); len(c) > 0 {
			t.Errorf("%s: %v", f, c)
		}
		for _, it := range p.Items {
			if group, ok := it.(drawing.Group); ok && group.ID == "d" {
				if r := group.Items[0].(drawing.Rect); r.W != w || r.H != h || r.X+r.W > p.W-edge || r.Y+r.H > p.H-edge {
					t.Errorf("%s: drawn at %.1f, %.1f, %.1f × %.1f", f, r.X, r.Y, r.W, r.H)
				}
			}
		}
		if pages[1].W >= pages[1].H {
			t.Errorf("%s: the page after it lies", f)
		}
	}
}
