package web

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
	"fettle/internal/web/working"
)

// spared marks what is no figure of the vehicle, and why.
var spared = map[string]string{
	"data-quoted":   "the words of the file, of a source or of a formula, as they stand there",
	"data-tried":    "of a mend that is not made yet: it has figures once it is made",
	"data-measured": "how long the program took, measured on this machine",
}

// sparedTags hold the user's choices, or nothing that is shown.
var sparedTags = []string{"option", "button", "title", "style", "script"}

// blocks end a run of text.
var blocks = []string{
	"p", "div", "li", "ol", "ul", "td", "th", "tr", "table", "dt", "dd", "dl", "h1", "h2", "h3", "section", "article", "main", "nav", "header",
	"text", "svg", "pre", "form", "summary", "details", "small", "b", "i", "label", "select", "br",
}

// run is a run of text with the figure that covers each of its bytes.
type textRun struct {
	text  strings.Builder
	cover []string // ID of the figure, "-" where spared, "" where bare
}

func (r *textRun) add(s, cover string) {
	r.text.WriteString(s)
	for range len(s) {
		r.cover = append(r.cover, cover)
	}
}

// page is what the checks read from a page.
type readPage struct {
	runs     []*textRun
	figs     []string
	headings []string
	problems []string
}

// read walks a page as a browser would show it.
func read(page string) (readPage, error) {
	var out readPage
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	type open struct {
		tag, cover string
	}
	stack := []open{{}}
	cur := &textRun{}
	flush := func() {
		if cur.text.Len() > 0 {
			out.runs = append(out.runs, cur)
			cur = &textRun{}
		}
	}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			flush()
			return out, nil
		}
		if err != nil {
			return out, err
		}
		top := stack[len(stack)-1]
		switch t := tok.(type) {
		case xml.StartElement:
			o := open{t.Name.Local, top.cover}
			if slices.Contains(sparedTags, o.tag) {
				o.cover = "-"
			}
			for _, a := range t.Attr {
				switch name := a.Name.Local; {
				case name == "data-fig":
					o.cover = a.Value
					out.figs = append(out.figs, a.Value)
				case spared[name] != "":
					o.cover = "-"
				case name == "style" || strings.HasPrefix(name, "on"):
					out.problems = append(out.problems, fmt.Sprintf("<%s %s>: the policy forbids it", o.tag, name))
				}
			}
			if o.tag == "script" && !hasAttr(t, "src") {
				out.problems = append(out.problems, "a script within the page")
			}
			if len(o.tag) == 2 && o.tag[0] == 'h' && o.tag[1] >= '1' && o.tag[1] <= '6' {
				out.headings = append(out.headings, o.tag)
			}
			if slices.Contains(blocks, o.tag) {
				flush()
			}
			stack = append(stack, o)
		case xml.EndElement:
			if len(stack) > 1 {
				stack = stack[:len(stack)-1]
			}
			if slices.Contains(blocks, t.Name.Local) {
				flush()
			}
		case xml.CharData:
			cur.add(string(t), top.cover)
		}
	}
}

func hasAttr(t xml.StartElement, name string) bool {
	return slices.ContainsFunc(t.Attr, func(a xml.Attr) bool { return a.Name.Local == name })
}

// numberWithUnit finds a number and one of the units that fettle prints.
var numberWithUnit = func() *regexp.Regexp {
	var units []string
	for _, k := range quantity.Kinds() {
		for _, u := range quantity.Units(k) {
			units = append(units, regexp.QuoteMeta(u))
		}
	}
	slices.SortFunc(units, func(a, b string) int { return len(b) - len(a) })
	return regexp.MustCompile(`[0-9](?:[0-9.\x{202f}]*[0-9])?[\s\x{a0}\x{202f}]*(?:` + strings.Join(units, "|") + `)(?:[^\pL\pN]|$)`)
}()

// closed tells whether a figure opens to its formula, inputs and sourced leaves.
type closed struct {
	l     *figure.Ledger
	known map[string]string
	// of finds the ledger of what is computed when it is asked for; nil for nobody.
	of func(id string) *figure.Ledger
}

func (c *closed) why(id string) string {
	if text, ok := c.known[id]; ok {
		return text
	}
	text, l := "", c.l
	if c.of != nil {
		l = c.of(id)
	}
	if _, ok := l.Why(figure.ID(id)); !ok {
		text = "is not in the ledger"
	} else if bad := l.Unresolved(figure.ID(id)); len(bad) > 0 {
		text = fmt.Sprintf("leans on %v, which does not resolve", bad)
	}
	c.known[id] = text
	return text
}

// bareNumbers lists the numbers of a page that do not open.
func bareNumbers(page string, names []string, c *closed) (misses []string) {
	p, err := read(page)
	if err != nil {
		return []string{"the page can't be read: " + err.Error()}
	}
	for _, r := range p.runs {
		text := r.text.String()
		for _, n := range names { // a part's name is no figure: "alternator 120 A"
			text = strings.ReplaceAll(text, n, strings.Repeat("_", len(n)))
		}
		for _, m := range numberWithUnit.FindAllStringIndex(text, -1) {
			switch id := r.cover[m[0]]; id {
			case "-":
			case "":
				misses = append(misses, fmt.Sprintf("%q in %q opens to nothing", text[m[0]:m[1]], text))
			default:
				if why := c.why(id); why != "" {
					misses = append(misses, fmt.Sprintf("%q: figure %q %s", text[m[0]:m[1]], id, why))
				}
			}
		}
	}
	for _, id := range p.figs {
		if why := c.why(id); why != "" {
			misses = append(misses, fmt.Sprintf("figure %q %s", id, why))
		}
	}
	slices.Sort(misses)
	return slices.Compact(misses)
}

// everyPage lists the addresses of all sheets of a build.
func everyPage(b *bench) []string {
	cur, err := b.s.current(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	if _, err := b.s.chances.of(b.Context(), cur.Result); err != nil {
		b.Fatal(err)
	}
	var out []string
	for _, sh := range sheets {
		out = append(out, sh.href())
	}
	devices := []string{"fuel pump", "left fan", "injector 3", "starter", "instruments"}
	for i, s := range cur.Solved.States {
		device := devices[i%len(devices)]
		out = append(out, "/?state="+s.Key, "/power?"+url.Values{"state": {s.Key}, "device": {device}}.Encode())
	}
	out = append(out, "/loom?pin=A12", "/loom?pin=controller+P3", "/loom?pin=B40", "/loom?pin=A78",
		"/loom?wire=23&state=full&at=2", "/loom?thing=X19", "/loom?find=pump", "/loom?find=nothing+at+all", "/loom?wire=9999", "/fuel?state=full", "/fuel?state=crank", "/engine?state=cruise", "/engine?state=parked", "/maps?map=spark&at=3-4", "/maps?state=crank", "/maps?state=full&map=dwell",
		"/maps?m-n=2000&m-p=60&m-c=20&m-a=15&m-v=13.5&m-s=3&m-r=40", "/maps?m-n=none")
	return append(out, "/rooms?state=full&hash="+cur.Hash, "/rule/wire-drop")
}

func TestEveryNumberOpens(t *testing.T) {
	b := newBench(t)
	pages := everyPage(b)
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c := &closed{cur.Ledger, map[string]string{}, func(id string) *figure.Ledger {
		l, err := b.s.ledgerOf(t.Context(), cur.Result, id)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}}
	for _, path := range pages {
		for _, m := range bareNumbers(b.get(path), cur.Design.Cat.PartNames(), c) {
			t.Errorf("%s: %s", path, m)
		}
	}
	if len(c.known) < 500 {
		t.Errorf("only %d figures were shown", len(c.known))
	}
}

// TestEveryWorkingOpens: the working of every figure there is shows a formula or
// a source, and all its own numbers open.
func TestEveryWorkingOpens(t *testing.T) {
	b := newBench(t)
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	names := cur.Design.Cat.PartNames()
	c := &closed{l: cur.Ledger, known: map[string]string{}}
	failed := 0
	for _, f := range cur.Ledger.All() {
		if key, _, _ := strings.Cut(string(f.ID), "/"); key != "full" && isState(key) {
			continue // recorded by the same code as those at full power
		}
		body, ok := working.View(shell.Ask{Result: cur.Result, Page: working.Key, Fig: string(f.ID)}, f.ID)
		if !ok {
			t.Fatalf("%s has no working", f.ID)
		}
		var w strings.Builder
		if err := working.Template.ExecuteTemplate(&w, "working", body); err != nil {
			t.Fatal(err)
		}
		misses := bareNumbers(w.String(), names, c)
		if body.Formula == "" && (body.Leaf == nil || body.Leaf.Source == "") {
			misses = append(misses, "neither formula nor source")
		}
		for _, m := range misses {
			t.Errorf("%s: %s", f.ID, m)
		}
		if len(misses) > 0 {
			if failed++; failed > 20 {
				t.Fatal("and more")
			}
		}
	}
}

func isState(key string) bool {
	return slices.ContainsFunc(design.StateNames[:], func(name string) bool { return vehicle.Key(name) == key })
}

// TestBareNumbersAreFound plants what the checks must see.
func TestBareNumbersAreFound(t *testing.T) {
	l := figure.NewLedger()
	l.Leaf(&figure.Input{ID: "good", SI: 1, Unit: "V", Source: "measured"})
	l.Leaf(&figure.Input{ID: "unsourced", SI: 1, Unit: "V"})
	l.Put("loose", nil, 1, "V", "nowhere")
	for _, c := range []struct {
		page string
		want int
	}{
		{`<p>It gets <a data-fig="good">11.4 V</a>.</p>`, 0},
		{`<p>It gets 11.4 V.</p>`, 1},
		{"<p>11.4\u00a0V</p><p>29\u202f128\u00a0J, 2.5 mm², 3 %</p>", 4},
		{`<p><a data-fig="good">11.4</a> V, at <b>5</b> places, 12 wires</p>`, 0},
		{`<p>11.4 <a data-fig="good">V</a></p>`, 1},
		{`<p><a data-fig="nowhere">11.4 V</a></p>`, 2},
		{`<p><a data-fig="unsourced">1 V</a> <a data-fig="loose">1 A</a></p>`, 4},
		{`<p data-quoted>11.4 V</p><button>to 2.5 mm²</button><p data-tried>make it <b>4 mm²</b></p><p>3 kW</p>`, 1},
		{`<p>alternator 120 A</p>`, 0},
	} {
		if got := bareNumbers(c.page, []string{"alternator 120 A"}, &closed{l: l, known: map[string]string{}}); len(got) != c.want {
			t.Errorf("%s: %q, want %d", c.page, got, c.want)
		}
	}
}

// TestPagesAreSound: headings in order and one of the first, no style and script
// within, each id once.
func TestPagesAreSound(t *testing.T) {
	b := newBench(t)
	ids := regexp.MustCompile(` id="([^"]*)"`)
	for _, path := range append(everyPage(b)[:len(sheets)+4], "/why/full/battery/VoltageV", "/rule/fuel-short") {
		page := b.get(path)
		p, err := read(page)
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		for _, m := range p.problems {
			t.Errorf("%s: %s", path, m)
		}
		if n := slices.Index(p.headings, "h1"); n != 0 || slices.Contains(p.headings[1:], "h1") {
			t.Errorf("%s: headings %v", path, p.headings)
		}
		for i := 1; i < len(p.headings); i++ {
			if p.headings[i][1] > p.headings[i-1][1]+1 {
				t.Errorf("%s: %s follows %s", path, p.headings[i], p.headings[i-1])
			}
		}
		seen := map[string]bool{}
		for _, m := range ids.FindAllStringSubmatch(page, -1) {
			if seen[m[1]] {
				t.Errorf("%s: id %q twice", path, m[1])
			}
			seen[m[1]] = true
		}
	}
}
