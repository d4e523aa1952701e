// Package report writes the book that goes with the vehicle, in its first form:
// a cover with cautions, the findings with the room left, the power side as a
// one-line diagram, the controller's pin table, the starting tables and the
// values that were assumed.
//
// Conventions: every number is printed with its unit by quantity; what was
// assumed stands in brackets; what is wrong now is accented, which prints as an
// underline. The book depends on its input alone: its date is that of the newest
// record, nothing in it was measured by a clock. A stop heads the book and its
// tables and never prevents them. Start reading at [Book].
package report

import (
	"fmt"
	"io"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/paper"
	"fettle/internal/quantity"
	"fettle/internal/rule"
	"fettle/internal/study"
	"fettle/internal/vehicle"
)

// Input is what the book is made from.
type Input struct {
	File     string // name of the build file; empty for the one the design was read from
	Design   *design.Design
	Loom     *loom.Loom
	Solved   *vehicle.Result
	Findings []rule.Finding // causes, with their consequences under them
	Verdict  rule.Verdict
	Rooms    []study.Room // nil while chances are not drawn
	Maps     []calibrate.Map
	Settings []calibrate.Setting
	NoMaps   string       // why tables are missing, if any are
	Drawings paper.Format // of the harness sheets
	DateISO  string       // of the newest record; empty when there is none
	Version  string       // of fettle
}

// Book writes the book as PDF.
func Book(w io.Writer, in Input) error {
	d, err := Document(in)
	if err != nil {
		return err
	}
	_, err = d.WriteTo(w)
	return err
}

// Document sets the book; its sheets can be shown or printed.
func Document(in Input) (*paper.Doc, error) {
	b, err := begin(in)
	if err != nil {
		return nil, err
	}
	b.cover()
	b.cautions()
	b.findingSheets()
	b.engine()
	b.power()
	b.fuses()
	b.harness()
	b.pins()
	b.lists()
	b.tables()
	b.values()
	return b.doc, nil
}

// begin makes an empty book of an input that can have one.
func begin(in Input) (*book, error) {
	if in.Design == nil || in.Loom == nil || in.Solved == nil {
		return nil, fmt.Errorf("the book needs a design, a loom and a solved vehicle; one of them is missing")
	}
	if in.File == "" && in.Design.Tree != nil {
		in.File = in.Design.Tree.File
	}
	b := &book{Input: in}
	b.sort()
	b.doc = paper.New(b.meta())
	return b, nil
}

// book is the document in the making.
type book struct {
	Input
	doc     *paper.Doc
	open    []rule.Finding // not waived
	waived  []rule.Finding
	stops   []rule.Finding
	assumed []*figure.Input
}

// sort parts the findings and gathers what was assumed.
func (b *book) sort() {
	for _, f := range b.Findings {
		if f.Waived != "" {
			b.waived = append(b.waived, f)
			continue
		}
		b.open = append(b.open, f)
		if f.Severity == diag.Stop {
			b.stops = append(b.stops, f)
		}
	}
	for _, in := range b.Design.Inputs {
		if in.Assumed() {
			b.assumed = append(b.assumed, in)
		}
	}
}

func (b *book) meta() paper.Meta {
	name := b.Design.File.Name
	file := b.File
	if b.DateISO != "" {
		file += ", newest record " + b.day()
	}
	return paper.Meta{
		Title: "The book of " + name, Vehicle: name, File: file,
		Assumed: fmt.Sprintf("%d of %d values, in brackets", len(b.assumed), len(b.Design.Inputs)),
		Subject: strings.TrimSpace("Findings, wiring and starting tables, computed by fettle " + b.Version),
		DateISO: b.DateISO,
	}
}

// day is the date of the newest record without its time.
func (b *book) day() string { day, _, _ := strings.Cut(b.DateISO, "T"); return day }

// show prints a number with its unit.
func show(si float64, unit string) string { return quantity.Format(si, unit, 0) }

// bracketed prints an assumed value with its spread.
func bracketed(in *figure.Input) string {
	return "(" + quantity.FormatSpread(in.SI, in.SdSI, in.Unit) + ")"
}

// sentence begins with a capital and ends with a stop.
func sentence(s string) string {
	s = capital(strings.TrimSpace(s))
	if s != "" && !strings.ContainsAny(s[len(s)-1:], ".!?") {
		s += "."
	}
	return s
}

func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// count prints "1 cause" and "3 causes".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
