// Package domain holds the sheets of the vehicle's domains that are read as
// tables: engine, loom, fuel and driveline. Each states what was solved in the
// chosen state, what the file says and can be changed, the devices of the
// domain, and what stands in its way.
//
// Conventions: views are pure and make finished strings; every number with a
// unit is looked up in the ledger by its ID. One template draws all of them.
// Start reading at [Engine], [Loom], [Fuel] and [Driveline], then [Body].
package domain

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/rule"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

//go:embed domain.html
var files embed.FS

// The keys of the pages in addresses.
const (
	EngineKey    = "engine"
	LoomKey      = "loom"
	FuelKey      = "fuel"
	DrivelineKey = "driveline"
)

// Template is that of all four pages.
var Template = shell.Template(files, "domain.html")

// Body is what a page shows.
type Body struct {
	Start, Trouble string
	Lede           string
	Cautions       []string
	Tabs           []shell.Tab
	State          string
	Unsettled      string
	Now            []Line // figures of the chosen state
	Tables         []Table
	Fields         []Setting
	Findings       []shell.Finding
	Waived         []shell.Finding
}

// Line is a named figure.
type Line struct {
	Name string
	Fig  shell.Fig
}

// Table is a table of finished cells.
type Table struct {
	ID, Title string
	Heads     []Head
	Rows      [][]Cell
	Empty     string
}

// Head is a column's head; a number's column stands right.
type Head struct {
	Text   string
	Number bool
}

// Cell is one cell: words, a figure, or a field.
type Cell struct {
	Text   string
	Fig    *shell.Fig
	Field  *shell.Field
	Number bool
	Label  string // its column's head, for the phone
}

// Setting is a value of the file that the page changes.
type Setting struct {
	Name  string
	Field shell.Field
	Now   *shell.Fig // the value in force, when the file does not state it
}

// page is a page in the making.
type page struct {
	a     shell.Ask
	key   string
	s     *vehicle.State
	figs  shell.Figures
	forms shell.Forms
	b     Body
}

func newPage(a shell.Ask, key, clean string) *page {
	p := &page{a: a, key: key, s: shell.Chosen(a.Result, a.State), figs: shell.Figures{Ledger: a.Result.Ledger}}
	p.forms = shell.Forms{Action: shell.Action(a), Refused: a.Refuse}
	p.b.Findings, p.b.Waived = shell.Findings(a, func(f *rule.Finding) bool {
		r, ok := rule.ByID(f.Rule)
		return ok && r.Page == key
	})
	switch n := len(p.b.Findings); n {
	case 0:
		p.b.Start = clean
		if f := suffers(a.Result.Findings, touches[key]); f != nil {
			p.b.Start, p.b.Trouble = "The cause is elsewhere; here ", effects[f.Rule]+"."
		}
	case 1:
		p.b.Start, p.b.Trouble = "On this sheet there is ", "one thing to mend."
	default:
		p.b.Start, p.b.Trouble = "On this sheet there are ", fmt.Sprintf("%d things to mend.", n)
	}
	return p
}

// touches are the rules whose findings show on a page although they are mended
// on another, and effects what each of them does there.
var (
	touches = map[string][]string{
		FuelKey:   {"fuel-short", "fuel-cranking", "injector-duty", "pump-voltage"},
		EngineKey: {"spark-cranking", "coil-charge"},
	}
	effects = map[string]string{
		"fuel-short": "fuel runs short at full power", "fuel-cranking": "fuel is missing while cranking", "injector-duty": "the injectors run out",
		"pump-voltage": "the pump is short of volts", "spark-cranking": "the spark is weak while cranking", "coil-charge": "the coils have too little time",
	}
)

// suffers finds the first of some rules that stands anywhere, as a cause or as a
// consequence.
func suffers(fs []rule.Finding, ids []string) *rule.Finding {
	for _, id := range ids {
		for i := range fs {
			if fs[i].Waived != "" {
				continue
			}
			if fs[i].Rule == id {
				return &fs[i]
			}
			if f := suffers(fs[i].Under, []string{id}); f != nil {
				return f
			}
		}
	}
	return nil
}

// states shows the chosen state's figures with tabs to the others.
func (p *page) states(rows ...[2]string) {
	p.b.Tabs = shell.Tabs(p.a.Result, "/"+p.key, p.s, nil)
	p.b.State = shell.StateName(p.s.Name)
	if !p.s.Ended.OK {
		p.b.Unsettled = p.s.Ended.Why
		return
	}
	for _, r := range rows {
		if f, ok := p.figs.Of(figure.ID(p.s.Key + "/" + r[1])); ok {
			p.b.Now = append(p.b.Now, Line{r[0], f})
		}
	}
}

// fact shows a figure that belongs to no state.
func (p *page) fact(name, id string) {
	if f, ok := p.figs.Of(figure.ID(id)); ok {
		p.b.Now = append(p.b.Now, Line{name, f})
	}
}

// set adds a value of the file; words are what it takes, none for free text.
func (p *page) set(name string, words []string, path ...string) {
	value := ""
	n := p.a.Result.Design.Tree.Find(path...)
	if n != nil {
		if v := n.Get("value"); v != nil {
			n = v
		}
		value = n.Text
	}
	s := Setting{Name: name}
	what := strings.Join(path, " ")
	if words != nil {
		s.Field = p.forms.Choice(name, what, value, "not stated", words, path...)
	} else {
		s.Field = p.forms.Field(name, what, value, "", path...)
	}
	if f, ok := p.figs.Of(figure.ID("build/" + strings.Join(path, "/"))); ok && value == "" {
		s.Now = &f
	}
	p.b.Fields = append(p.b.Fields, s)
}

func words(list ...string) Cell { return Cell{Text: strings.Join(list, ", ")} }
func fig(f shell.Fig, ok bool) Cell {
	if !ok {
		return Cell{Number: true}
	}
	return Cell{Fig: &f, Number: true}
}

// add puts a table on the page; heads that end in "#" are of numbers.
func (p *page) add(id, title, empty string, heads []string, rows [][]Cell) {
	t := Table{ID: id, Title: title, Empty: empty, Rows: rows}
	for _, h := range heads {
		text, number := strings.CutSuffix(h, "#")
		t.Heads = append(t.Heads, Head{text, number})
	}
	for _, row := range rows {
		for i := range row {
			row[i].Label = t.Heads[i].Text
		}
	}
	p.b.Tables = append(p.b.Tables, t)
}

// partField chooses a device's part among the catalogue's of its kind.
func (p *page) partField(it design.Item) Cell {
	var names []string
	cat := p.a.Result.Design.Cat
	for _, n := range cat.PartNames() {
		if cat.Parts[n].Kind == it.Part.Kind {
			names = append(names, n)
		}
	}
	f := p.forms.Choice("Part of "+it.Written, it.Written, it.Part.Name, "", names, "devices", it.Written, "part")
	return Cell{Field: &f}
}

// pins lists the controller pins of a device.
func (p *page) pins(device string) string {
	var out []string
	for _, pin := range p.a.Result.Loom.Pins {
		if strings.HasPrefix(pin.Device, device+" ") {
			out = append(out, pin.Pin)
		}
	}
	return strings.Join(out, ", ")
}

// devices lists the devices of some kinds, one row for those of one entry.
func (p *page) devices(id, title string, kinds ...string) {
	var rows [][]Cell
	seen := map[string]bool{}
	for _, it := range p.a.Result.Design.Devices {
		if !slices.Contains(kinds, it.Part.Kind) || seen[it.Written] {
			continue
		}
		seen[it.Written] = true
		rows = append(rows, []Cell{words(it.Written), p.partField(it), words(it.At), words(p.pins(it.Name))})
	}
	p.add(id, title, "The file has no device of this kind.", []string{"Device", "Part", "At", "Controller pins"}, rows)
}
