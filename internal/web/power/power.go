// Package power is the sheet of the electrical supply: the one-line diagram, the
// balance of alternator and battery, the way of one picked device, and the
// tables of devices, wires, feeds and relays, with what can be changed there.
//
// Conventions: [View] is pure and makes finished strings; every number it shows
// is looked up in the ledger by its ID, so that it opens to its working. Tables
// put the worst first. Start reading at [View].
package power

import (
	"embed"
	"fmt"
	"html/template"
	"math"
	"net/url"
	"strings"

	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/supply"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

//go:embed power.html
var files embed.FS

// Key names the page in addresses.
const Key = "power"

// Template is the page's.
var Template = shell.Template(files, "power.html")

// Body is what the page shows.
type Body struct {
	Start, Trouble string
	Lede           []shell.Fig
	Tabs           []shell.Tab
	State          string
	Unsettled      string
	OneLine        template.HTML
	Sources        []Source
	Balance        []Line
	Inrush         []Line // of the cranking state: its first second
	NoInrush       string // why there is none
	StartWide      template.HTML
	StartPhone     template.HTML
	Charging       Charging
	Dump           Dump
	Ladder         Ladder
	Fuse           Fuse
	Devices        []Device
	Idle           []string // devices that draw nothing in the state
	Wires, Others  []Wire   // Others carry nothing in the state
	Feeds          []Feed
	Relays         []Relay
	Grounds        []Ground
	Findings       []shell.Finding
	Waived         []shell.Finding
}

// Line is a named figure.
type Line struct {
	Name string
	Fig  shell.Fig
}

// sheet is what the parts of the view look at.
type sheet struct {
	r     *run.Result
	s     *vehicle.State
	figs  shell.Figures
	forms shell.Forms
	wrong map[string]bool // anchors of the things that a finding of this state is about
	ever  map[string]bool // of any state
}

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	v := sheet{r: a.Result, s: shell.Chosen(a.Result, a.State), figs: shell.Figures{Ledger: a.Result.Ledger}}
	v.forms = shell.Forms{Action: shell.Action(a), Refused: a.Refuse}
	v.wrong, v.ever = supply.Wrong(a.Result.Findings, v.s.Name), supply.Wrong(a.Result.Findings, "")
	more := url.Values{}
	if a.Device != "" {
		more.Set("device", a.Device)
	}
	b := Body{
		Tabs: shell.Tabs(a.Result, "/power", v.s, more), State: shell.StateName(v.s.Name),
		Fuse: v.fuse(a.Fuse), Sources: v.sources(), Feeds: v.feeds(), Relays: v.relays(), Grounds: v.grounds(),
	}
	b.Findings, b.Waived = shell.Findings(a, onPage)
	b.Start, b.Trouble = headline(len(b.Findings))
	b.Charging, b.Dump = v.charging(), v.dump()
	b.Wires, b.Others = v.wires()
	if !v.s.Ended.OK {
		b.Unsettled = v.s.Ended.Why
		return b
	}
	b.Lede, b.Balance = v.lede(), v.balance()
	b.Inrush, b.NoInrush = v.inrush()
	b.StartWide, b.StartPhone = v.course()
	b.Devices, b.Idle = v.devices()
	b.OneLine = v.oneLine()
	b.Ladder = v.ladder(a.Device)
	return b
}

func onPage(f *rule.Finding) bool {
	r, ok := rule.ByID(f.Rule)
	return ok && r.Page == Key
}

func headline(causes int) (start, trouble string) {
	switch causes {
	case 0:
		return "No cause stands on this sheet.", ""
	case 1:
		return "The supply reaches everything, but for ", "one cause."
	}
	return "The supply does not hold: ", fmt.Sprintf("%d causes.", causes)
}

// fails reports whether a wire is what a finding is about, and loses more than
// it may in this state too.
func (v sheet) fails(w *loom.Wire) bool {
	anchor := "power#" + vehicle.WireAnchor(w.Number)
	over := math.Abs(v.si(v.id(vehicle.WireName(w.Number), "DropV"))) > w.LimitV
	return v.wrong[anchor] || v.ever[anchor] && over
}

// id is a figure of the chosen state.
func (v sheet) id(subject, name string) figure.ID {
	return figure.ID(v.s.Key + "/" + subject + "/" + name)
}

// of shows a figure of the chosen state; the zero Fig when there is none.
func (v sheet) of(subject, name string) shell.Fig {
	f, _ := v.figs.Of(v.id(subject, name))
	return f
}

// in shows a figure in the unit and with the decimals of its column.
func (v sheet) in(id figure.ID, unit string, decimals int) shell.Fig {
	f, _ := v.figs.In(id, unit, decimals)
	return f
}

// amount is in without the sign.
func (v sheet) amount(id figure.ID, unit string, decimals int) shell.Fig {
	f, _ := v.figs.Amount(id, unit, decimals)
	return f
}

// fixed is in with the unit behind it.
func (v sheet) fixed(id figure.ID, unit string, decimals int) shell.Fig {
	f, ok := v.figs.In(id, unit, decimals)
	if ok {
		f.Text += "\u00a0" + unit
	}
	return f
}

// si is a figure's value for ordering, 0 when there is none.
func (v sheet) si(id figure.ID) float64 {
	f, _ := v.r.Ledger.Why(id)
	return f.SI
}

func (v sheet) lede() []shell.Fig {
	return []shell.Fig{
		{Text: "Between the battery’s posts stand "},
		v.of("battery", "VoltageV"),
		{Text: "; everything together draws "},
		v.of("loads", "CurrentA"),
		{Text: "."},
	}
}

func (v sheet) balance() []Line {
	out := []Line{
		{"Everything that is on", v.of("loads", "CurrentA")},
		{"From the alternator", v.of("alternator", "CurrentA")},
		{"The most it brings at this speed and heat", v.of("alternator", "MostA")},
		{"From the battery", v.of("battery", "CurrentA")},
	}
	left := figure.ID("room/" + v.s.Key + "/alternator/CurrentA/left")
	if f, ok := v.figs.Of(left); ok {
		f.Bad = v.si(left) < 0
		out = append(out, Line{"Room left", f})
	}
	var kept []Line
	for _, l := range out {
		if l.Fig.ID != "" {
			kept = append(kept, l)
		}
	}
	return kept
}

// Source is the battery, the alternator or the starter, with its part.
type Source struct {
	ID, Name string
	Bad      bool
	Part     shell.Field
	Figures  []Line
}

// sourceKinds are the devices of which there is exactly one, and what is told of
// them.
var sourceKinds = []struct {
	kind  string
	lines []struct{ name, figure string }
}{
	{"alternator", []struct{ name, figure string }{{"gives", "CurrentA"}, {"at most", "MostA"}}},
	{"battery", []struct{ name, figure string }{{"stands at", "VoltageV"}, {"gives", "CurrentA"}}},
	{"starter", []struct{ name, figure string }{{"gets", "VoltageV"}, {"draws", "CurrentA"}}},
}

func (v sheet) sources() []Source {
	var out []Source
	for _, k := range sourceKinds {
		it := v.r.Design.One(k.kind)
		s := Source{ID: k.kind, Name: it.Name, Bad: v.wrong["power#"+k.kind]}
		s.Part = v.forms.Choice("Part of "+it.Name, it.Name, it.Part.Name, "", v.partsLike(it.Part), "devices", it.Written, "part")
		for _, l := range k.lines {
			if f := v.of(it.Name, l.figure); f.ID != "" {
				if taken, ok := strings.CutPrefix(f.Text, "−"); ok && l.name == "gives" {
					l.name, f.Text = "takes", taken
				}
				s.Figures = append(s.Figures, Line{l.name, f})
			}
		}
		out = append(out, s)
	}
	return out
}
