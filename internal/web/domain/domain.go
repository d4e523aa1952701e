// Package domain is what the sheets of the vehicle's domains share: the headline
// of a sheet, the figures of its chosen state, tables, room left, the devices of
// the domain and what the file says and can be changed.
//
// Conventions: views are pure and make finished strings; every number with a
// unit is looked up in the ledger by its ID. Start reading at [New], then [Body]
// and [With].
package domain

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"strings"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/rule"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

//go:embed parts.html
var files embed.FS

// The keys of the pages in addresses.
const (
	EngineKey    = "engine"
	LoomKey      = "loom"
	FuelKey      = "fuel"
	DrivelineKey = "driveline"
)

// With reads a page's own template on top of the shared parts.
func With(page fs.FS, name string) *template.Template {
	return template.Must(shell.Template(files, "parts.html").ParseFS(page, name))
}

// Body is what a page shows.
type Body struct {
	Start, Trouble string
	Elsewhere      bool // what troubles this sheet is mended on another
	Lede           []shell.Fig
	Cautions       []string
	Plainly        []string // what the figures leave out
	Tabs           []shell.Tab
	State          string
	Unsettled      string
	Now            []Line // figures of the chosen state
	Left           Left
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
	Quoted bool   // words of the file or of a part
	Label  string // its column's head, for the phone
}

// Setting is a value of the file that the page changes.
type Setting struct {
	ID    string // the place that findings point to
	Name  string
	Note  string // what it means, where the name does not say
	Field shell.Field
	Now   *shell.Fig // the value in force, when the file does not state it
}

// Page is a page in the making.
type Page struct {
	Body
	Ask   shell.Ask
	S     *vehicle.State // the chosen one
	Figs  shell.Figures
	Forms shell.Forms

	key string
}

// New begins a page: its findings, and a headline that is true of them. Clean is
// the headline of a page on which nothing is to mend.
func New(a shell.Ask, key, clean string) *Page {
	p := &Page{Ask: a, key: key, S: shell.Chosen(a.Result, a.State), Figs: shell.Figures{Ledger: a.Result.Ledger}}
	p.Forms = shell.Forms{Action: shell.Action(a), Refused: a.Refuse}
	p.Findings, p.Waived = shell.Findings(a, func(f *rule.Finding) bool {
		r, ok := rule.ByID(f.Rule)
		return ok && r.Page == key
	})
	switch n := len(p.Findings); n {
	case 0:
		p.Start = clean
		if f := suffers(a.Result.Findings, touches[key]); f != nil {
			p.Start, p.Trouble, p.Elsewhere = "The cause is elsewhere; here ", effects[f.Rule]+".", true
		}
	case 1:
		p.Start, p.Trouble = "On this sheet there is ", "one thing to mend."
	default:
		p.Start, p.Trouble = "On this sheet there are ", fmt.Sprintf("%d things to mend.", n)
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

// States shows the chosen state's figures with tabs to the others.
func (p *Page) States(rows ...[2]string) {
	p.Tabs = shell.Tabs(p.Ask.Result, "/"+p.key, p.S, nil)
	p.State = shell.StateName(p.S.Name)
	if !p.S.Ended.OK {
		p.Unsettled = p.S.Ended.Why
		return
	}
	for _, r := range rows {
		if f, ok := p.Figs.Of(figure.ID(p.S.Key + "/" + r[1])); ok {
			p.Now = append(p.Now, Line{r[0], f})
		}
	}
}

// Fact shows a figure that belongs to no state.
func (p *Page) Fact(name, id string) {
	if f, ok := p.Figs.Of(figure.ID(id)); ok {
		p.Now = append(p.Now, Line{name, f})
	}
}

// Set adds a value of the file; words are what it takes, none for free text. It
// gives the setting back for an anchor and a note.
func (p *Page) Set(name string, words []string, path ...string) *Setting {
	value := p.Written(path...)
	s := Setting{Name: name}
	what := strings.Join(path, " ")
	if words != nil {
		s.Field = p.Forms.Choice(name, what, value, "not stated", words, path...)
	} else {
		s.Field = p.Forms.Field(name, what, value, "", path...)
	}
	if f, ok := p.Figs.Of(figure.ID("build/" + strings.Join(path, "/"))); ok && value == "" {
		s.Now = &f
	}
	p.Fields = append(p.Fields, s)
	return &p.Fields[len(p.Fields)-1]
}

// Words is a cell of words.
func Words(list ...string) Cell { return Cell{Text: strings.Join(list, ", ")} }

// Quoted is a cell of the words of the file or of a part.
func Quoted(words string) Cell { return Cell{Text: words, Quoted: true} }

// Figure is a cell of a figure, empty when there is none.
func Figure(f shell.Fig, ok bool) Cell {
	if !ok {
		return Cell{Number: true}
	}
	return Cell{Fig: &f, Number: true}
}

// Add puts a table on the page; heads that end in "#" are of numbers.
func (p *Page) Add(id, title, empty string, heads []string, rows [][]Cell) {
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
	p.Tables = append(p.Tables, t)
}

// PartField chooses a device's part among the catalogue's of its kind.
func (p *Page) PartField(it design.Item) Cell {
	var names []string
	cat := p.Ask.Result.Design.Cat
	for _, n := range cat.PartNames() {
		if cat.Parts[n].Kind == it.Part.Kind {
			names = append(names, n)
		}
	}
	f := p.Forms.Choice("Part of "+it.Written, it.Written, it.Part.Name, "", names, "devices", it.Written, "part")
	return Cell{Field: &f}
}

// Pins lists the controller pins of a device.
func (p *Page) Pins(device string) string {
	var out []string
	for _, pin := range p.Ask.Result.Loom.Pins {
		if strings.HasPrefix(pin.Device, device+" ") {
			out = append(out, pin.Pin)
		}
	}
	return strings.Join(out, ", ")
}

// Devices lists the devices of some kinds, one row for those of one entry.
func (p *Page) Devices(id, title, empty string, kinds ...string) {
	var rows [][]Cell
	for _, i := range p.entries(kinds) {
		it := p.Ask.Result.Design.Devices[i]
		rows = append(rows, []Cell{Words(it.Written), p.PartField(it), Quoted(it.Part.Is), Words(it.At), Words(p.pinsOfEntry(it.Written))})
	}
	p.Add(id, title, empty, []string{"Device", "Part", "What it is", "At", "Controller pins"}, rows)
}
