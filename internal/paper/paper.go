// Package paper sets the book that goes with the vehicle: A4 sheets with a
// frame, running head and title block, on which verdicts, findings, tables,
// cautions and drawings are placed one below the other.
//
// Conventions: lengths are [drawing.Px], 1/96 inch; the accent prints as an
// underline; a document is a list of blocks, laid out when it is written, so
// that contents and page numbers come out right. Every sheet is itself a
// [drawing.Drawing]: [Doc.Pages] gives them for the screen, [Doc.WriteTo] for
// the printer. The same blocks give the same bytes; the only date is the one the
// caller states. Start reading at [New].
package paper

import (
	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Px is a length in CSS pixels, 1/96 inch.
type Px = drawing.Px

// Meta is what stands on every sheet and in the file's description.
type Meta struct {
	Title    string // running head: "The book of the camper"
	Vehicle  string // title block
	File     string // title block: "build.yaml, saved 2026-11-03"
	Assumed  string // title block: "31 of 214 values, in brackets"
	Subject  string
	Language string // of the text, as BCP 47; "en" when empty
	// DateISO is the date of the newest record, 2006-01-02 or RFC 3339. When it
	// is empty the file carries 1970-01-01, which stands for no record.
	DateISO string
}

// Doc is a document under construction.
type Doc struct {
	meta   Meta
	blocks []block
}

// block is a piece of a document.
type block interface {
	// least is the height of the first part that must not be split.
	least(s *setter) Px
	place(s *setter)
}

// New begins a document.
func New(m Meta) *Doc { return &Doc{meta: m} }

// Run is a stretch of text; accented runs are underlined.
type Run struct {
	Text   string
	Bold   bool
	Accent bool
}

// Sheet begins a new sheet under a title, which is listed in the contents.
func (d *Doc) Sheet(title string) { d.blocks = append(d.blocks, sheet{title}) }

// Contents lists the sheets and headings with their page numbers.
func (d *Doc) Contents() { d.blocks = append(d.blocks, contents{}) }

// Verdict sets the sentence that says it first; what is wrong now is accented.
func (d *Doc) Verdict(runs ...Run) {
	for i := range runs {
		runs[i].Bold = true
	}
	d.blocks = append(d.blocks, prose{runs: runs, size: 27, leading: 33, after: 10})
}

// Lede sets the sentences under a verdict.
func (d *Doc) Lede(text string) {
	d.blocks = append(d.blocks, prose{runs: []Run{{Text: text}}, size: 15, leading: 22, after: 16, role: drawing.Soft})
}

// Heading begins a section; it never stands alone at the foot of a sheet.
func (d *Doc) Heading(text string) { d.blocks = append(d.blocks, heading{text}) }

// Para sets a paragraph.
func (d *Doc) Para(text string) { d.Say(Run{Text: text}) }

// Say sets a paragraph of mixed weights.
func (d *Doc) Say(runs ...Run) {
	d.blocks = append(d.blocks, prose{runs: runs, size: 13, leading: 19, after: 9})
}

// Note sets a small paragraph.
func (d *Doc) Note(text string) {
	d.blocks = append(d.blocks, prose{runs: []Run{{Text: text}}, size: 12, leading: 16, after: 8, role: drawing.Soft})
}

// Finding is a cause with its consequences and its mend.
type Finding struct {
	Severity     string // stop, fix or note
	Wrong        bool   // accented: a stop
	What         string
	Where        string
	Why          string
	Mend         string
	Consequences []string
	Waived       string // the reason, when waived
}

// Finding sets one finding; it isn't split unless it exceeds a sheet.
func (d *Doc) Finding(f Finding) { d.blocks = append(d.blocks, findingBlock{f}) }

// Caution sets a warning: hatched at the left, before the step it guards.
func (d *Doc) Caution(text string) { d.blocks = append(d.blocks, caution{text}) }

// Table sets a table; its head is repeated on every sheet, its rows aren't split.
func (d *Doc) Table(t Table) { d.blocks = append(d.blocks, &t) }

// Shaded sets a table of numbers shaded by value.
func (d *Doc) Shaded(s Shaded) { d.blocks = append(d.blocks, &s) }

// Draw places a drawing, made smaller when it exceeds the sheet; nil places none.
func (d *Doc) Draw(g *drawing.Drawing, caption string) {
	if g == nil {
		return
	}
	d.blocks = append(d.blocks, figure{g, caption})
}

// WidthPx is the room between the margins; a drawing made this wide is printed
// at its own size.
func WidthPx() Px { return inRight - inLeft }

// A4 with a filing margin at the left, after ISO 5457.
const (
	pageW, pageH = 210 * typeface.PxPerMM, 297 * typeface.PxPerMM
	frameL       = 20 * typeface.PxPerMM
	frameT       = 10 * typeface.PxPerMM
	frameR       = pageW - 10*typeface.PxPerMM
	frameB       = pageH - 10*typeface.PxPerMM
	inLeft       = frameL + 20
	inRight      = frameR - 20
	inTop        = frameT + 26
	measure      = 560 // longest line of prose, about 78 characters
)
