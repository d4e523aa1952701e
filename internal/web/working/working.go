// Package working is the page behind a figure: the formula, what went into it,
// where that comes from, how far it holds and how the steps to it ended. The
// same text opens at the side of a sheet, and as a page of its own.
//
// Conventions: [View] is pure and makes finished strings; a value that the user
// can state is changed where it is shown. Start reading at [View].
package working

import (
	"embed"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"unicode"

	"fettle/internal/calibrate"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/shell"
)

//go:embed working.html
var files embed.FS

// Key names the page in addresses.
const Key = "why"

// Template is the page's.
var Template = shell.Template(files, "working.html")

// Body is what the page shows.
type Body struct {
	ID, Name  string
	Fig       shell.Fig
	Returns   string
	Formula   string
	Where     string
	Valid     string
	Accuracy  string
	Source    string
	Settled   string // how the steps to it ended
	Inputs    []Input
	Leaf      *Leaf
	Draws     *Draws
	Home      string // the sheet it belongs to
	NotClosed string // what it leans on and can't be shown
}

// Input is one figure that went in.
type Input struct {
	Name, Origin, From string
	Fig                shell.Fig
}

// Leaf is an input of the design: who says it, and how sure.
type Leaf struct {
	Origin, Literal, Source, Place, Batch string
	Spread                                shell.Fig
	Field                                 *shell.Field
}

// Draws is the doubt of a margin.
type Draws struct {
	Low, High, Chance shell.Fig
	N, Unsolved       int
	Stale             bool
}

// View makes the working of a figure; ok is false when there is no such figure.
func View(a shell.Ask, id figure.ID) (Body, bool) {
	figs := shell.Figures{Ledger: a.Ledger()}
	f, ok := a.Ledger().Why(id)
	if !ok {
		return Body{}, false
	}
	b := Body{ID: string(id), Name: Name(a, f), Home: home(id)}
	b.Fig, _ = figs.Of(id)
	b.Draws = draws(a, f)
	f = behind(a, f)
	if f.By != nil {
		b.Returns, b.Formula, b.Where = f.By.Returns, f.By.Text, f.By.Where
		b.Valid, b.Accuracy, b.Source = f.By.Valid, f.By.Accuracy, f.By.Source
	}
	if f.Loop != nil {
		b.Settled = fmt.Sprintf("solved together with the rest of its state: after %d steps nothing moved by more than %s of itself",
			f.Loop.Steps, quantity.Number(f.Loop.Residual, "", 1))
	}
	for _, in := range f.In {
		if v, ok := input(a, figs, in); ok {
			b.Inputs = append(b.Inputs, v)
		}
	}
	if f.Leaf != nil {
		b.Leaf = leaf(a, f.Leaf)
	}
	if bad := a.Ledger().Unresolved(id); len(bad) > 0 {
		b.NotClosed = fmt.Sprintf("%d of what it leans on can't be shown, first %s", len(bad), bad[0])
	}
	return b, true
}

// behind is the figure that a margin only passes on, so that its own working is
// shown at once.
func behind(a shell.Ask, f figure.Figure) figure.Figure {
	if !strings.HasPrefix(string(f.ID), "room/") || len(f.In) != 1 {
		return f
	}
	if in, ok := a.Ledger().Why(f.In[0]); ok && in.SI == f.SI {
		return in
	}
	return f
}

func input(a shell.Ask, figs shell.Figures, id figure.ID) (Input, bool) {
	f, ok := a.Ledger().Why(id)
	if !ok {
		return Input{}, false
	}
	v := Input{Name: Name(a, f), Origin: "computed"}
	v.Fig, _ = figs.Of(id)
	if f.Leaf != nil {
		v.Origin, v.From = f.Leaf.Origin.String(), f.Leaf.Source
		if p := shell.Place(f.Leaf.Pos); p != "" {
			v.From += ", " + p
		}
	}
	return v, true
}

func leaf(a shell.Ask, in *figure.Input) *Leaf {
	l := &Leaf{Origin: in.Origin.String(), Literal: in.Literal, Source: in.Source, Place: shell.Place(in.Pos), Batch: in.Batch}
	if in.SdSI > 0 {
		l.Spread = shell.Fig{ID: string(in.ID), Text: quantity.FormatSpread(in.SI, in.SdSI, in.Unit)}
	}
	rest, ok := strings.CutPrefix(string(in.ID), "build/")
	if !ok {
		return l
	}
	path := filePath(a, rest)
	value := ""
	if in.Origin == figure.Stated {
		value = in.Literal
	}
	forms := shell.Forms{Action: shell.Action(a), Refused: a.Refuse}
	name := path[len(path)-1]
	field := forms.Field("Your value of "+name, name, value, quantity.Format(in.SI, in.Unit, 0), path...)
	l.Field = &field
	return l
}

// sections are those whose values stand right under them.
var sections = []string{"vehicle", "climate", "fuel", "engine", "fuel system"}

// filePath is where a leaf is written, or would be. A key may have a stroke in
// it, so the sections with one level of keys are split only once.
func filePath(a shell.Ask, rest string) []string {
	path := strings.Split(rest, "/")
	section, key, _ := strings.Cut(rest, "/")
	switch {
	case a.Result.Design.Tree.Find(path...) != nil:
		return path
	case section == "vehicle" && strings.HasPrefix(key, "tyre"):
		return []string{"vehicle", "tyre"}
	case slices.Contains(sections, section):
		return []string{section, key}
	}
	return path
}

func draws(a shell.Ask, f figure.Figure) *Draws {
	room, stale, ok := a.Room(f.ID)
	if !ok {
		return nil
	}
	at := func(si float64) shell.Fig {
		return shell.Fig{ID: string(f.ID), Text: quantity.Format(si, room.Unit, 0)}
	}
	if room.Unit == "" {
		at = func(si float64) shell.Fig { return shell.Fig{ID: string(f.ID), Text: quantity.Format(si, f.Unit, 0)} }
	}
	return &Draws{
		Low: at(room.P05), High: at(room.P95), N: room.N, Unsolved: room.Unsolved, Stale: stale,
		Chance: shell.Fig{ID: string(f.ID), Text: quantity.FormatFrac(room.ChanceShort, room.N)},
	}
}

// Name is a figure in words: what it is, of what, in which state.
func Name(a shell.Ask, f figure.Figure) string {
	parts := strings.Split(string(f.ID), "/")
	if len(parts) > 3 && parts[0] == "room" {
		return roomName(a, f.ID, parts)
	}
	last := parts[len(parts)-1]
	switch {
	case len(parts) == 1:
		return last
	case len(parts) == 4 && parts[0] == "maps":
		return fmt.Sprintf("table %s, row %s, column %s", parts[1], parts[2], parts[3])
	case len(parts) > 2 && parts[0] == "pulse":
		parts = parts[1:] // the moment's name says nothing to a reader
	}
	if f.Leaf == nil {
		last = words(last)
	}
	subject := strings.Join(parts[1:len(parts)-1], ", ")
	for _, s := range a.Result.Solved.States {
		if s.Key == parts[0] {
			return strings.Trim(subject+", "+last+", "+lower(shell.StateName(s.Name)), ", ")
		}
	}
	return strings.Trim(subject+", "+last, ", ")
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// roomName names a margin, its limit or the room between them.
func roomName(a shell.Ask, id figure.ID, parts []string) string {
	tail := ""
	switch parts[len(parts)-1] {
	case "limit":
		tail, id = ", the limit", id[:len(id)-len("/limit")]
	case "left":
		tail, id = ", room left", id[:len(id)-len("/left")]
	}
	for _, m := range a.Result.Solved.Margins {
		if m.ID == id {
			return m.Name + tail + ", " + lower(shell.StateName(m.State))
		}
	}
	return strings.Join(parts[1:], ", ")
}

// words turns the name of a computed number into words, without its unit:
// "VoltageV" into "voltage", "MostKgPerS" into "most".
func words(name string) string {
	if i := strings.LastIndex(name, "Per"); i > 0 {
		name = name[:i]
	}
	for _, unit := range []string{"Kg", "Nm", "Pa", "Ohm", "Ratio", "Frac", "Rad", "M3", "M2", "V", "A", "W", "S", "M", "K", "J"} {
		if cut, ok := strings.CutSuffix(name, unit); ok && cut != "" {
			name = cut
			break
		}
	}
	var b strings.Builder
	for i, r := range name {
		if unicode.IsUpper(r) && i > 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

// home is the sheet that a figure belongs to.
func home(id figure.ID) string {
	parts := strings.Split(string(id), "/")
	key := parts[0]
	if key == "pulse" && len(parts) > 1 {
		if p, err := calibrate.ParsePresent(parts[1]); err == nil {
			return mapsheet.PulseHref("", p)
		}
	}
	if key == "maps" && len(parts) > 1 {
		return "/maps?" + url.Values{"map": {parts[1]}}.Encode()
	}
	for _, name := range design.StateNames {
		if vehicle.Key(name) == key {
			return "/power?state=" + key
		}
	}
	return "/"
}
