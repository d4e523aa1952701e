package table

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/diag"
)

func grid23() Grid {
	g := New("t", "1", Axis{"speed", "rpm", []float64{500, 1000}}, Axis{"pressure", "kPa", []float64{30, 60, 100}})
	copy(g.Z, []float64{0.5, 0.6, 0.8, 0.55, 0.7, 0.9})
	return g
}

func TestAt(t *testing.T) {
	g := grid23()
	for _, r := range []struct {
		name, source string
		x, y, want   float64
	}{
		// Wants from scipy.interpolate.RegularGridInterpolator (SciPy 1.10) on the same grid.
		{"corner", "SciPy RegularGridInterpolator", 500, 30, 0.5},
		{"last corner", "SciPy RegularGridInterpolator", 1000, 100, 0.9},
		{"edge", "SciPy RegularGridInterpolator", 1000, 45, 0.625},
		{"inside", "SciPy RegularGridInterpolator", 700, 45, 0.58},
		{"inside 2", "SciPy RegularGridInterpolator", 875, 88, 0.815},
	} {
		got, err := g.At(r.x, r.y)
		if err != nil || math.Abs(got-r.want) > 1e-12 {
			t.Errorf("%s: At(%g, %g) = %v, %v, want %v (%s)", r.name, r.x, r.y, got, err, r.want, r.source)
		}
	}
}

func TestOutside(t *testing.T) {
	g := grid23()
	for _, p := range [][2]float64{{499, 50}, {1001, 50}, {700, 29}, {700, 101}, {math.NaN(), 50}, {700, math.NaN()}} {
		if v, err := g.At(p[0], p[1]); err == nil {
			t.Errorf("At(%v) = %v without an error", p, v)
		}
		if _, clamped := g.Clamped(p[0], p[1]); !clamped {
			t.Errorf("Clamped(%v) does not say so", p)
		}
	}
	if v, clamped := g.Clamped(2000, 60); v != 0.7 || !clamped {
		t.Errorf("Clamped past the last row = %v, %v, want 0.7, true", v, clamped)
	}
	_, err := g.At(1200, 50)
	if want := `table "t": speed 1200 rpm is outside 500 … 1000`; err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

func TestLine(t *testing.T) {
	g := New("dead time", "ms", Axis{"battery", "V", []float64{8, 12, 14}}, Axis{})
	copy(g.Z, []float64{3, 1.5, 1})
	if v, err := g.At(13, 0); err != nil || v != 1.25 {
		t.Errorf("At(13) = %v, %v, want 1.25", v, err)
	}
	single := New("x", "1", Axis{}, Axis{})
	single.Z[0] = 7
	if v, err := single.At(1, 2); err != nil || v != 7 {
		t.Errorf("single value = %v, %v, want 7", v, err)
	}
}

// A bilinear table reproduces any function a + bx + cy + dxy exactly, and the
// weights of a place sum to one.
func TestBilinearExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SliceOfN(rapid.Float64Range(-3, 3), 4, 4).Draw(t, "c")
		f := func(x, y float64) float64 { return c[0] + c[1]*x + c[2]*y + c[3]*x*y }
		g := New("f", "1", Axis{At: rising(t, "x")}, Axis{At: rising(t, "y")})
		g.Fill(f)
		x := rapid.Float64Range(g.X.At[0], g.X.At[len(g.X.At)-1]).Draw(t, "at x")
		y := rapid.Float64Range(g.Y.At[0], g.Y.At[len(g.Y.At)-1]).Draw(t, "at y")
		got, err := g.At(x, y)
		if err != nil || math.Abs(got-f(x, y)) > 1e-9*(1+math.Abs(f(x, y))) {
			t.Fatalf("At(%g,%g) = %g, %v, want %g", x, y, got, err, f(x, y))
		}
		w, _ := g.Weights(x, y)
		cells, share := w.Cells()
		sum, z := 0.0, 0.0
		for i := range cells {
			sum += share[i]
			z += share[i] * g.Z[cells[i]]
		}
		if math.Abs(sum-1) > 1e-12 || math.Abs(z-got) > 1e-9*(1+math.Abs(got)) {
			t.Fatalf("weights sum to %g and give %g, want 1 and %g", sum, z, got)
		}
	})
}

func rising(t *rapid.T, name string) []float64 {
	steps := rapid.SliceOfN(rapid.Float64Range(0.1, 2), 2, 6).Draw(t, name)
	for i := 1; i < len(steps); i++ {
		steps[i] += steps[i-1]
	}
	return steps
}

func TestRoundTrip(t *testing.T) {
	meta := Meta{Basis: "made up", Uncertainty: "± 5 %", Notes: []Note{{"source", "a test: of colons"}, {"", "a remark"}}}
	line := New("dead time", "ms", Axis{"", "V", []float64{8, 12.5}}, Axis{})
	single := New("idle speed", "rpm", Axis{}, Axis{})
	for _, g := range []Grid{grid23(), line, single} {
		var b bytes.Buffer
		if err := Write(&b, g, meta); err != nil {
			t.Fatal(err)
		}
		first := b.String()
		got, gotMeta, ds := Read(&b, "maps/t.csv")
		if len(ds) > 0 {
			t.Fatalf("%v\n%s", ds, first)
		}
		if len(gotMeta.Notes) != 2 || gotMeta.Notes[0] != meta.Notes[0] || gotMeta.Uncertainty != meta.Uncertainty {
			t.Errorf("meta came back as %+v", gotMeta)
		}
		var again bytes.Buffer
		if err := Write(&again, got, gotMeta); err != nil || again.String() != first {
			t.Errorf("%v: written again:\n%s\nfirst:\n%s", err, &again, first)
		}
	}
}

func TestWriteExact(t *testing.T) {
	g := grid23()
	g.Z[1] = 0.123456
	var b strings.Builder
	if err := Write(&b, g, Meta{Basis: "b", Uncertainty: "u", Digits: 3}); err != nil {
		t.Fatal(err)
	}
	want := "# name: t\n# unit: 1\n# basis: b\n# uncertainty: u\n# rows: speed\n# columns: pressure\n" +
		"rpm \\ kPa,30,60,100\n500,0.5,0.123,0.8\n1000,0.55,0.7,0.9\n"
	if b.String() != want {
		t.Errorf("wrote\n%s\nwant\n%s", b.String(), want)
	}
	bad := grid23()
	bad.X.At[1] = 400
	if Write(&b, bad, Meta{}) == nil {
		t.Error("a falling axis was written")
	}
	if Write(&b, grid23(), Meta{Basis: "two\nlines"}) == nil {
		t.Error("a basis of two lines was written")
	}
}

const head = "# name: ve\n# unit: 1\n"

func TestReadMistakes(t *testing.T) {
	for _, r := range []struct{ name, text, want string }{
		{"ragged", head + "rpm \\ kPa,30,40\n500,0.5\n", "f.csv:4:1: error: the row has 2 cells, the header has 3 [table-ragged]"},
		{"row axis falls", head + "rpm \\ kPa,30,40\n900,1,1\n800,1,1\n", "f.csv:5:1: error: the row axis must increase: 800 rpm follows 900 [table-axis]"},
		{"column axis stands", head + "rpm \\ kPa,30, 30\n900,1,1\n", "f.csv:3:15: error: the column axis must increase: 30 kPa follows 30 [table-axis]"},
		{"letters", head + "rpm \\ kPa,30,40\n500,0.5,0.6x\n", `f.csv:4:9: error: "0.6x" is not a number [table-number]`},
		{"not a number", head + "rpm \\ kPa,30,40\n500,NaN,0.6\n", `f.csv:4:5: error: "NaN" is not a number [table-number]`},
		{"too large", head + "rpm \\ kPa,30,40\n500,1e999,0.6\n", `f.csv:4:5: error: "1e999" is too large a number [table-number]`},
		{"empty cell", head + "rpm \\ kPa,30,40\n500,,0.6\n", "f.csv:4:5: error: the cell is empty, it must hold a number [table-number]"},
		{"no header", head + "500,0.5,0.6\n", "f.csv:3:1: error: the header row is missing: the first row begins with the number 500 [table-header]"},
		{"nothing", head, "f.csv:2:1: error: the file has no header row and no numbers [table-header]"},
		{"no rows", head + "rpm \\ kPa,30,40\n", "f.csv:3:1: error: the table has a header and no rows [table-empty]"},
		{"no name", "# unit: 1\nV,value\n8,1\n", `f.csv:1:1: error: the line "# name:" is missing [table-missing]`},
		{"no unit", "# name: x\n# unit:\nV,value\n8,1\n", `f.csv:2:1: error: the line "# unit:" names no unit [table-missing]`},
		{"twice", "# name: x\n# unit: 1\n# unit: 2\nV,value\n8,1\n", `f.csv:3:1: error: "# unit:" is given twice [table-twice]`},
		{"semicolons", head + "rpm \\ kPa;30;40\n500;0,5;0,6\n", `f.csv:3:1: error: the header row has no columns after its first cell [table-header]`},
		{"one axis named", head + "rpm,30,40\n500,1,2\n", `f.csv:3:1: error: the header cell "rpm" names one axis, so the row must read "rpm,value" [table-header]`},
		{"half an axis", head + "rpm \\,30\n500,1\n", `f.csv:3:1: error: the header cell "rpm \\" names only one of the two axes [table-header]`},
		{"two single values", head + "-,value\n-,1\n-,2\n", "f.csv:5:1: error: a table without axes has one value, this is another [table-ragged]"},
		{"open quote", head + "\"rpm \\ kPa,30\n500,1\n", "f.csv:3:1: error: the quote is not closed on its line [table-quote]"},
		{"not UTF-8", head + "rpm \\ kPa,30\n500,1\n# \xff\n", "f.csv:5:1: error: the line is not UTF-8 text [table-encoding]"},
	} {
		g, _, ds := Read(strings.NewReader(r.text), "f.csv")
		if len(ds) == 0 || ds[0].String() != r.want {
			t.Errorf("%s: got %v\nwant %s", r.name, ds, r.want)
			continue
		}
		if len(g.Z) > 0 {
			t.Errorf("%s: a grid came with the error", r.name)
		}
		if ds[0].Severity != diag.Error {
			t.Errorf("%s: severity %v", r.name, ds[0].Severity)
		}
	}
}

// A file of nothing but mistakes gives a bounded number of messages.
func TestReadHopeless(t *testing.T) {
	for _, text := range []string{head + "a \\ b,1\n" + strings.Repeat("1,1\n", 1e5), head + "a \\ b," + strings.Repeat("1,", 1e5), head + "a \\ b,1,2\n" + strings.Repeat("x,y,z\n", 1e5)} {
		_, _, ds := Read(strings.NewReader(text), "f.csv")
		if len(ds) < 50 || len(ds) > 2*maxFound {
			t.Errorf("%d messages", len(ds))
		}
	}
}

func TestReadSpreadsheet(t *testing.T) {
	text := "\ufeff# name: ve\r\n# unit: 1\r\n\"rpm \\ kPa\", 30 ,40\r\n500,0.5,\"0.6\"\r\n\r\n"
	g, _, ds := Read(strings.NewReader(text), "f.csv")
	if len(ds) > 0 || g.X.Unit != "rpm" || g.Y.Unit != "kPa" || g.Z[1] != 0.6 {
		t.Errorf("read %+v, %v", g, ds)
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{head + "rpm \\ kPa,30,40\n500,0.5,0.6\n", head + "V,value\n8,1\n", head + "-,value\n-,1\n", "\"a\"\"b\",", "# :\n#"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		g, meta, ds := Read(bytes.NewReader(text), "f.csv")
		for _, d := range ds {
			if d.Msg.String() == "" || d.Rule == "" {
				t.Fatalf("an empty message: %+v", d)
			}
		}
		if len(ds) > 0 {
			return
		}
		if err := g.Check(); err != nil {
			t.Fatalf("read without a message, yet %v", err)
		}
		var b bytes.Buffer
		if err := Write(&b, g, meta); err != nil {
			return // a unit or text that a file may hold and Write refuses
		}
		again, _, ds := Read(bytes.NewReader(b.Bytes()), "f.csv")
		if len(ds) > 0 || !again.X.Equal(g.X) || !again.Y.Equal(g.Y) {
			t.Fatalf("does not read back: %v\n%s", ds, &b)
		}
		for i := range g.Z {
			if g.Z[i] != again.Z[i] {
				t.Fatalf("cell %d: %v came back as %v", i, g.Z[i], again.Z[i])
			}
		}
	})
}
