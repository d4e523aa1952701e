// Package shell is the sheet that every page is drawn on: the list of sheets,
// the title block, the states, and the parts that pages share, such as a figure
// that opens to its working and a field that changes the build file.
//
// Conventions: views are finished strings, templates only place them; a figure
// carries its ID in data-fig; text in data-quoted is the user's, a file's or a
// source's own, text in data-tried belongs to a mend that is not made yet, text
// in data-measured was measured by the program. Start reading at [Page], then
// [Figures].
package shell

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"slices"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/run"
	"fettle/internal/study"
	"fettle/internal/table"
	"fettle/internal/vehicle"
)

//go:embed shell.html
var files embed.FS

// Page is a whole page.
type Page struct {
	Title  string
	Script bool // the scripts are there
	Assets string
	// Refresh has a browser without scripts ask again every second.
	Refresh bool
	Part
}

// Part is what an answer to an edit replaces: all of the sheet.
type Part struct {
	Key     string // of the page: "power"
	Name    string // "Power"
	Vehicle string
	Verdict string // read out after an edit
	Sheets  []Sheet
	Block   []Entry
	Steps   Steps
	Notice  *Notice
	Body    any
}

// Sheet is a line of the list of sheets.
type Sheet struct {
	N       int
	Name    string
	Href    string
	Count   int // causes that are mended there
	Current bool
	File    bool // it is a file to keep, not a page
}

// Entry is a line of the title block.
type Entry struct {
	Name, Text string
	Measured   string // a time that the program took, told apart
}

// Steps is what was changed since the server began.
type Steps struct {
	Action     string
	Undo, Redo string // names of the steps, empty when there is none
	All        []Step
}

// Step is one edit that can be gone back to.
type Step struct {
	N    int
	Name string
	Now  bool
}

// Notice is a message at the head of a sheet.
type Notice struct {
	Text string
	Bad  bool
}

// Ask is what a page is asked to show.
type Ask struct {
	Result *run.Result
	Rooms  []study.Room // with their chances; nil until they are drawn
	Stale  []study.Room // those of the vehicle before, while Rooms is nil
	State  string       // key of the chosen state, may be empty
	Device string
	Pin    string // the picked way of a plug
	Fuse   string // the fuse whose chart is shown
	Wire   string // the picked wire of the harness, its number
	Thing  string // the picked thing of the harness: "X12", "S3"
	At     string // the station of the picked wire that is looked at
	Find   string // what is sought on the harness
	Fig    string // the figure whose working is shown
	// Opens is the ledger that the figure opens in; nil is the vehicle's.
	Opens  *figure.Ledger
	Seen   string // the stamp of the file that the page shows
	Page   string
	Refuse *Refusal
	// Answers of the question sheet, nil when the build did not begin from it;
	// Grown says that the file has gone beyond them.
	Answers map[string]string
	Grown   bool
	// Map is the chosen table, Maps all of them; MapsProblem says why there are none.
	Map         string
	Maps        []MapFile
	MapsProblem string
	MapSettings []calibrate.Setting
	MapRefuse   string // why a change of cells was not made
	MapEffect   string // what a change would do, asked before it is made
	MapTyped    MapEdit
	MapView     MapView
	// Firing is one cylinder in the chosen state, on the sheet of the engine.
	Firing *vehicle.Firing
	// Pulse is the injection pulse of the asked moment, PulseLedger what its parts
	// open in; PulseNo says why there is none.
	Pulse       *calibrate.Pulse
	PulseAsked  calibrate.Present
	PulseLedger *figure.Ledger
	PulseNo     string
	PulseTyped  map[string]string // as it was typed, where it was refused
	Rehearsal   Rehearsal
}

// MapView is how a table is looked at.
type MapView struct {
	Show     string // "value", "spread" or "difference"
	Against  string // "computed", or the number of a revision
	Row, Col int    // of the cell that the sections run through
}

// MapFile is a table as it stands in the folder, or as it is computed when it
// was not written yet.
type MapFile struct {
	Name, Title string
	Grid        table.Grid
	Meta        table.Meta
	Written     bool
	ByHand      bool // a hand changed it since it was computed
	Proposed    bool // a computed one waits beside it
	Stamp       string
	Problem     string // why the file does not read
	Revisions   []MapRevision
	Undo, Redo  int // revisions to step to, 0 for none
	// Spread is one standard deviation of the computed cells; Against what the
	// table is held against, when a difference is asked for, and NoView says why
	// a view can't be shown.
	Spread, Against *table.Grid
	NoView          string
}

// MapRevision is a line of the journal of tables.
type MapRevision struct {
	N                      int
	By, Reason, File, Kept string
}

// MapEdit is a change of cells as it was typed.
type MapEdit struct {
	Map, Seen              string
	Row0, Row1, Col0, Col1 int
	Act                    string // "change", "between", "smooth", "paste", or "try" to see first
	Text, Cells, Reason    string
}

// Ledger is what the asked figure opens in.
func (a Ask) Ledger() *figure.Ledger {
	if a.Opens != nil {
		return a.Opens
	}
	return a.Result.Ledger
}

// Room finds a margin's chances; stale says they are those before the edit.
func (a Ask) Room(id figure.ID) (room study.Room, stale, ok bool) {
	list := a.Rooms
	if list == nil {
		list, stale = a.Stale, true
	}
	i := slices.IndexFunc(list, func(r study.Room) bool { return r.ID == id })
	if i < 0 {
		return study.Room{}, false, false
	}
	return list[i], stale, true
}

// Block makes the title block of a solved vehicle.
func Block(r *run.Result, sheet, measured string) []Entry {
	if r.Design == nil {
		return []Entry{{Name: "Sheet", Text: sheet}, {Name: "File", Text: lines(r)}}
	}
	assumed := 0
	for _, in := range r.Design.Inputs {
		if in.Assumed() {
			assumed++
		}
	}
	return []Entry{
		{Name: "Vehicle", Text: r.Design.File.Name},
		{Name: "Sheet", Text: sheet},
		{Name: "File", Text: lines(r)},
		{Name: "Assumed", Text: fmt.Sprintf("%d of %d values, in brackets", assumed, len(r.Design.Inputs))},
		{Name: "Solved", Text: solved(r), Measured: measured},
	}
}

func lines(r *run.Result) string {
	return fmt.Sprintf("%s, %d lines", r.Input.File, strings.Count(string(r.Input.Src), "\n"))
}

// solved tells the most steps and the greatest residual of the settled states.
func solved(r *run.Result) string {
	steps, residual, failed := 0, 0.0, 0
	for _, s := range r.Solved.States {
		if !s.Ended.OK {
			failed++
			continue
		}
		steps, residual = max(steps, s.Ended.Steps), max(residual, s.Ended.Residual)
	}
	text := fmt.Sprintf("%d states, %d steps, residual %s", len(r.Solved.States)-failed, steps, quantity.Number(residual, "", 1))
	if failed > 0 {
		text += fmt.Sprintf("; %d did not settle", failed)
	}
	return text
}

// Template reads the templates of a page on top of those of the shell.
func Template(page fs.FS, names ...string) *template.Template {
	t := template.Must(template.New("").ParseFS(files, "*.html"))
	return template.Must(t.ParseFS(page, names...))
}
