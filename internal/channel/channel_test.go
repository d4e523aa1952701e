package channel

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWrittenLogReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Log{Notes: []Note{{"calibration", "3f"}}}
		for _, k := range Kinds() {
			s := New(k)
			at := rapid.Float64Range(0, 1e5).Draw(t, "start")
			for range rapid.IntRange(1, 6).Draw(t, "n") {
				at += rapid.Float64Range(1e-4, 3).Draw(t, "step")
				s.Add(at, rapid.Float64Range(200, 2000).Draw(t, "si"))
			}
			l.Series = append(l.Series, s)
		}
		var b bytes.Buffer
		if err := Write(&b, l); err != nil {
			t.Fatal(err)
		}
		got, found := Read(&b, "log.csv")
		if len(found) > 0 {
			t.Fatal(found)
		}
		if got.Note("calibration") != "3f" || len(got.Series) != len(l.Series) {
			t.Fatalf("got %d series, notes %v", len(got.Series), got.Notes)
		}
		for i, s := range got.Series {
			want := l.Series[i]
			if s.Kind != want.Kind || s.Unit != want.Unit || len(s.SI) != len(want.SI) {
				t.Fatalf("%s: %d samples, want %d", s.Name, len(s.SI), len(want.SI))
			}
			for j := range s.SI {
				if s.TimeS[j] != want.TimeS[j] {
					t.Fatalf("%s: time %v came back as %v", s.Name, want.TimeS[j], s.TimeS[j])
				}
				// six figures of the value in its unit, and seven of float32
				if d := math.Abs(float64(s.SI[j] - want.SI[j])); d > 1e-5*math.Abs(float64(want.SI[j])) {
					t.Fatalf("%s: %v came back as %v", s.Name, want.SI[j], s.SI[j])
				}
			}
		}
	})
}

// TestTimeKeepsMilliseconds: float32 would lose them after a day.
func TestTimeKeepsMilliseconds(t *testing.T) {
	s := New(EngineSpeed)
	s.Add(86400.001, 100)
	s.Add(86400.002, 100)
	var b bytes.Buffer
	if err := Write(&b, Log{Series: []Series{s}}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "\n86400.002,") {
		t.Error(b.String())
	}
}

func TestBadLogs(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "x.csv:1:1: error: the file has no heading"},
		{"no samples", "time [s],lambda [1]\n", "no samples"},
		{"no unit", "time [s],engine speed\n0,1\n", `x.csv:1:10: error: the heading "engine speed" gives no unit`},
		{"wrong unit", "time [s],engine speed [kPa]\n0,1\n", "x.csv:1:10"},
		{"unknown channel", "time [s],engin speed [rpm]\n0,1\n", `did you mean "engine speed"`},
		{"no time", "lambda [1]\n1\n", "no column is headed time [s]"},
		{"twice", "time [s],lambda [1],lambda [1]\n0,1,1\n", `x.csv:1:21: error: "lambda" heads two columns`},
		{"text", "time [s],lambda [1]\n0,1\n1,rich\n", `x.csv:3:3: error: "rich" under "lambda" is not a number`},
		{"not a number", "time [s],lambda [1]\n0,NaN\n", "x.csv:2:3"},
		{"ragged", "time [s],lambda [1]\n0,1,2\n", "the row has 3 cells, the heading 2"},
		{"time falls", "time [s],lambda [1]\n2,1\n1,1\n", "x.csv:3:1: error: time 1 s follows 2 s"},
		{"time missing", "time [s],lambda [1]\n,1\n", "the row has no time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, found := Read(strings.NewReader(c.text), "x.csv")
			if len(found) == 0 {
				t.Fatal("nothing found")
			}
			var all []string
			for _, d := range found {
				all = append(all, d.String())
			}
			if got := strings.Join(all, "\n"); !strings.Contains(got, c.want) {
				t.Errorf("got %s\nwant %s", got, c.want)
			}
			if len(l.Series) > 0 {
				t.Error("a faulty log gave channels")
			}
		})
	}
}

func TestBadSeriesAreNotWritten(t *testing.T) {
	ok := New(Lambda)
	ok.Add(0, 1)
	falls := ok
	falls.TimeS, falls.SI = []float64{1, 1}, []float32{1, 1}
	odd := ok
	odd.Unit = "kPa"
	for name, l := range map[string]Log{
		"none": {}, "twice": {Series: []Series{ok, ok}}, "time": {Series: []Series{falls}}, "unit": {Series: []Series{odd}},
		"note": {Notes: []Note{{"a", "b\nc"}}, Series: []Series{ok}},
	} {
		if err := Write(&bytes.Buffer{}, l); err == nil {
			t.Errorf("%s was written", name)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("# a: b\ntime [s],lambda [1]\n0,1\n"))
	f.Fuzz(func(_ *testing.T, text []byte) { Read(bytes.NewReader(text), "x.csv") })
}
