package report

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/drawing"
	"fettle/internal/quantity"
	"fettle/internal/rule"
	"fettle/internal/supply"
)

var update = flag.Bool("update", false, "write testdata/cover.txt anew")

// pdfText is what a reader that knows nothing of us finds in the file.
func pdfText(t *testing.T, in Input, args ...string) string {
	t.Helper()
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("pdftotext is not installed; CI must have it")
		}
		t.Skip("pdftotext is not installed")
	}
	file := filepath.Join(t.TempDir(), "book.pdf")
	if err := os.WriteFile(file, write(t, in), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(reader, append(args, file, "-")...).CombinedOutput()
	if err != nil {
		t.Fatalf("pdftotext: %v\n%s", err, out)
	}
	return string(out)
}

// texts lists every piece of lettering of the book.
func texts(t *testing.T, in Input) []string {
	t.Helper()
	d, err := Document(in)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	var walk func([]drawing.Item)
	walk = func(items []drawing.Item) {
		for _, it := range items {
			switch v := it.(type) {
			case drawing.Text:
				out = append(out, v.S)
			case drawing.Group:
				walk(v.Items)
			}
		}
	}
	for _, p := range d.Pages() {
		walk(p.Items)
	}
	return out
}

// flat makes one line of text that was set in several.
func flat(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" \n\f\t\u00a0\u202f", r) }), " ")
}

func has(t *testing.T, text, want, what string) {
	t.Helper()
	if !strings.Contains(text, flat(want)) {
		t.Errorf("%s: the book lacks %q", what, flat(want))
	}
}

func TestEverythingIsInTheBook(t *testing.T) {
	in := book1(t)
	text := flat(pdfText(t, in))
	if len(in.Findings) == 0 || len(in.Solved.Margins) == 0 {
		t.Fatal("the demo has no findings or no margins: nothing would be looked for")
	}
	for _, f := range in.Findings {
		has(t, text, sentence(f.Msg.String()), f.Rule)
		has(t, text, f.Pos.String(), f.Rule+" place")
		if h := f.Hint.String(); h != "" {
			has(t, text, "Mend: "+sentence(h), f.Rule+" hint")
		}
		for _, u := range f.Under {
			has(t, text, "→ "+sentence(u.Msg.String()), u.Rule)
		}
	}
	for _, m := range in.Solved.Margins {
		has(t, text, m.Name, string(m.ID))
		has(t, text, show(m.Value, m.Unit), string(m.ID)+" value")
		has(t, text, show(m.Limit, m.Unit), string(m.ID)+" limit")
	}
	assumed := 0
	for _, leaf := range in.Design.Inputs {
		if !leaf.Assumed() {
			continue
		}
		assumed++
		has(t, text, "("+quantity.FormatSpread(leaf.SI, leaf.SdSI, leaf.Unit)+")", string(leaf.ID))
		has(t, text, leaf.Source, string(leaf.ID)+" source")
	}
	has(t, text, quantity.NumberTo(float64(assumed), "", 0)+" values are assumed", "count")
	for _, p := range in.Loom.Pins {
		has(t, text, " "+p.Pin+" "+p.Can+" ", "pin "+p.Pin)
	}
	for _, w := range in.Loom.Wires { // in the wire list, by number, name and length
		row := regexp.MustCompile(fmt.Sprintf(`\b%d %s .{1,120}? %s \d\.\d\d\b`, w.Number, regexp.QuoteMeta(w.Name), w.Colour))
		if !row.MatchString(text) {
			t.Errorf("the wire list lacks wire %d, %s, %s", w.Number, w.Name, w.Colour)
		}
	}
	for _, b := range in.Loom.Tree.Branches {
		has(t, text, fmt.Sprintf("%s %.2f %.1f %d", b.Name, b.LengthM, b.DiameterM*1e3, len(b.Wires)), "branch")
	}
	for _, s := range bench {
		has(t, text, s.title, "list "+s.list)
	}
	for _, m := range in.Maps {
		has(t, text, sentence(m.Basis), m.Name)
		has(t, text, sentence(m.Uncertainty), m.Name)
	}
	for _, c := range cautions {
		has(t, text, c, "caution")
	}
}

// The stops head the book and its tables.
func TestStopsHead(t *testing.T) {
	in := book1(t)
	parts := strings.Split(pdfText(t, in), "\f")
	var stops []rule.Finding
	for _, f := range in.Findings {
		if f.Severity.String() == "stop" {
			stops = append(stops, f)
		}
	}
	if len(stops) == 0 {
		t.Fatal("the demo has no stop")
	}
	tables := parts[slices.IndexFunc(parts, func(p string) bool { return strings.Contains(p, "Starting tables") })]
	for _, f := range stops {
		has(t, flat(parts[0]), sentence(f.Msg.String()), "cover")
		has(t, flat(tables), sentence(f.Msg.String()), "tables")
	}
	if i, j := strings.Index(flat(tables), stops[0].Msg.String()[1:]), strings.Index(flat(tables), "Volumetric efficiency"); i < 0 || i > j {
		t.Errorf("the stop stands at %d, behind the first table at %d", i, j)
	}
}

func TestNothingStands(t *testing.T) {
	in := book1(t)
	in.Findings, in.Verdict = nil, rule.Judge(nil, in.Solved)
	in.Rooms = nil
	in.Maps, in.NoMaps = nil, "dwell: coil voltage 0 V out of range"
	text := flat(pdfText(t, in))
	for _, want := range []string{
		"No rule found anything in the way.", "Nothing that was computed stands in the way.", "Chances are not drawn.", "not drawn",
		"No table was made for this vehicle.", "Not every table could be made: Dwell: coil voltage 0 V out of range.",
	} {
		has(t, text, want, "a vehicle without findings")
	}
	for _, word := range texts(t, in) {
		if word == "stop" || word == "fix" {
			t.Errorf("a book without findings is headed %q", word)
		}
	}
	if strings.Contains(text, "newest record") {
		t.Error("a book without a record dates it")
	}
}

func TestWaivedAreSaid(t *testing.T) {
	const reason = "the old switch is gone, I looked"
	in, err := solved(func(src string) string {
		return src + "\nwaive:\n  - {rule: relay-overload, reason: \"" + reason + "\"}\n"
	})
	if err != nil {
		t.Fatal(err)
	}
	text := flat(pdfText(t, in))
	has(t, text, "Accepted, with a reason", "heading")
	has(t, text, "Waived: "+sentence(reason), "reason")
}

// A state that did not settle shows its cause and no figure.
func TestUnsolvedShowsTheCause(t *testing.T) {
	in := book1(t)
	bent := *in.Solved
	bent.States = slices.Clone(in.Solved.States)
	bent.Margins = slices.Clone(in.Solved.Margins)
	for i := range bent.States {
		if bent.States[i].Name == design.Idle {
			bent.States[i].Ended.OK, bent.States[i].Ended.Why = false, "supply and fuel did not settle in 80 steps"
		}
	}
	nan := 0
	for i := range bent.Margins {
		if bent.Margins[i].State == design.Idle {
			bent.Margins[i].Value = unknown()
			nan++
		}
	}
	in.Solved = &bent
	text := flat(pdfText(t, in))
	has(t, text, "Hot idle with everything on has no answer.", "one-line diagram")
	has(t, text, "This state did not settle: supply and fuel did not settle in 80 steps.", "room left")
	n := 0
	for _, word := range texts(t, in) {
		if word == roomUnread {
			n++
		}
	}
	if n != nan || nan == 0 {
		t.Errorf("%d margins say %q, want %d", n, roomUnread, nan)
	}
	if strings.Contains(text, "NaN") || strings.Contains(text, "no figure") {
		t.Error("a figure that is none is printed")
	}
}

func unknown() float64 { var zero float64; return zero / zero }

func TestDate(t *testing.T) {
	in := book1(t)
	in.DateISO = "2026-11-03T10:00:00Z"
	has(t, flat(pdfText(t, in)), "the newest record is of 2026-11-03", "date")
	in.DateISO = "yesterday"
	if err := Book(&strings.Builder{}, in); err == nil || !strings.Contains(err.Error(), "yesterday") {
		t.Errorf("a date that is none: error %v", err)
	}
	if err := Book(&strings.Builder{}, Input{}); err == nil {
		t.Error("a book of nothing: no error")
	}
}

// Numbers as the house prints them, on every sheet: no comma within, no plain
// hyphen before, no figure parted from its unit at a line's end.
func TestNumbersOnPaper(t *testing.T) {
	text := pdfText(t, book1(t))
	for _, bad := range []*regexp.Regexp{
		regexp.MustCompile(`\d,\d`), regexp.MustCompile(`(?m)[ (]-\d`), regexp.MustCompile(`NaN|Inf|%!|<nil>`),
		regexp.MustCompile(`(?m)[0-9.]+\n(?:mm²|kPa|rpm|mV|mJ|g/s)\b`),
	} {
		if m := bad.FindString(text); m != "" {
			t.Errorf("the book prints %q", m)
		}
	}
}

// The words of cover and cautions with an invented stop, and every figure
// masked, since the demo's figures move with its models. Written anew with -update.
func TestCoverGolden(t *testing.T) {
	in := book1(t)
	f := rule.Finding{Diagnostic: diag.Diagnostic{
		Rule: "invented", Severity: diag.Stop, Subject: "the stopper",
		Msg: diag.Sayf("the invented stopper is out of its hole"), Hint: diag.Sayf("put it back"),
	}}
	in.Findings = []rule.Finding{f}
	in.Verdict = rule.Verdict{Start: diag.Sayf("It would float, until "), Trouble: diag.Sayf("it sinks."), Lede: diag.Sayf("One cause: %v.", f.Msg), Stops: 1}
	sheets := strings.Split(pdfText(t, in, "-layout"), "\f")
	got := regexp.MustCompile(`\d+(?:\.\d+)?`).ReplaceAllString(strings.Join(sheets[:3], ""), "#")
	got = regexp.MustCompile(`[ \x{00a0}]+`).ReplaceAllString(got, " ")
	got = regexp.MustCompile(`\s*\n\s*`).ReplaceAllString(got, "\n")
	file := filepath.Join("testdata", "cover.txt")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("cover and cautions changed; look at them, then run with -update:\n%s", got)
	}
}

func TestQpdf(t *testing.T) {
	checker, err := exec.LookPath("qpdf")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("qpdf is not installed; CI must have it")
		}
		t.Skip("qpdf is not installed")
	}
	file := filepath.Join(t.TempDir(), "book.pdf")
	if err := os.WriteFile(file, write(t, book1(t)), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(checker, "--check", file).CombinedOutput(); err != nil || !strings.Contains(string(out), "No syntax or stream encoding errors") {
		t.Errorf("qpdf: %v\n%s", err, out)
	}
}

// The pins of a controller: by plug, then by number, not by letters.
func TestPinOrder(t *testing.T) {
	b := &book{Input: book1(t)}
	pins := b.controllerPins()
	for i := 1; i < len(pins); i++ {
		c0, n0 := splitPin(pins[i-1].name)
		c1, n1 := splitPin(pins[i].name)
		if c0 > c1 || c0 == c1 && n0 >= n1 {
			t.Errorf("%s stands before %s", pins[i-1].name, pins[i].name)
		}
	}
	if want := len(b.Loom.Pins) + len(b.Design.One("controller").Part.Terminals); len(pins) != want {
		t.Errorf("%d pins, want %d", len(pins), want)
	}
	for _, p := range pins {
		if row := b.pinRow(p); len(row) < 7 {
			t.Errorf("pin %s has no wire", p.name)
		}
	}
}

// The one-line diagram holds every fuse and every relay once, and its figures
// are those of the solve.
func TestOneLineIsWhole(t *testing.T) {
	b := &book{Input: book1(t)}
	b.sort()
	s := b.Solved.State(design.Idle)
	d := supply.Of(b.Solved, s, b.Findings).OneLine("one-line", "", 636)
	var names []string
	for _, m := range d.Mains {
		if m.Relay != nil {
			names = append(names, m.Relay.Name)
		}
		for _, f := range m.Feeds {
			names = append(names, f.Fuse.Name)
			if f.Relay != nil { // of one group alone: behind its fuse
				names = append(names, f.Relay.Name)
			}
		}
	}
	for _, r := range b.Loom.Relays {
		if !slices.Contains(names, r.Name+" "+r.Group) {
			t.Errorf("relay %s is not drawn", r.Name)
		}
	}
	for i := range b.Loom.Fuses {
		f := &b.Loom.Fuses[i]
		if f.Feed == "" || f.Feed == "key" {
			continue // main fuses stand at the sources, the switch's before the switch
		}
		n := 0
		for _, name := range names {
			if name == f.Name+" "+supply.Rating(f.RatingA.SI) {
				n++
			}
		}
		if n != 1 {
			t.Errorf("fuse %s is drawn %d times", f.Name, n)
		}
	}
	for _, m := range d.Mains {
		for _, f := range m.Feeds {
			if f.Load == "fuel pump" {
				v, ok := s.ConsumerV("fuel pump")
				if !ok || f.Volt.Text != show(v, "V") {
					t.Errorf("the pump's volts are %q, solved %g", f.Volt.Text, v)
				}
			}
		}
	}
}
