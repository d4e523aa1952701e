package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fettle/internal/diag"
	"fettle/internal/paper"
	"fettle/internal/report"
	"fettle/internal/run"
	"fettle/internal/study"
)

type bookCmd struct {
	Dir      string `arg:"" help:"The build folder." default:"."`
	Out      string `short:"o" help:"The PDF to write." placeholder:"FILE"`
	Drawings string `enum:"a4,a3" default:"a4" help:"Size of the harness sheets: a4 or a3."`
	JSON     bool   `name:"json" help:"Print what was written as an object."`
}

// Run prints the book as a PDF.
func (c *bookCmd) Run(e *env) error {
	if c.Out != "" {
		if err := writable(c.Out); err != nil {
			return err // before the vehicle is solved, not after
		}
	}
	s, err := open(e, c.Dir, c.JSON)
	if err != nil {
		return err
	}
	r := s.result
	if !r.OK() {
		return jsonErrors(e, r)
	}
	rooms, err := chances(e.ctx, r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	in := bookInput(r, rooms)
	in.Drawings = format(c.Drawings == "a3")
	if err := report.Book(&b, in); err != nil {
		return err
	}
	out := c.Out
	if out == "" {
		out = filepath.Join(c.Dir, "book.pdf")
	}
	if err := writeWhole(out, b.Bytes()); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, map[string]any{"file": out, "bytes": b.Len()})
	}
	heads(e, r)
	fmt.Fprintf(e.out, "%s written\n", out)
	return nil
}

// printBook makes the book of a result.
func printBook(w io.Writer, r *run.Result, rooms []study.Room) error {
	return report.Book(w, bookInput(r, rooms))
}

// printHarness makes the sheets of the harness alone.
func printHarness(w io.Writer, r *run.Result, a3 bool) error {
	doc, err := report.HarnessSheets(report.Input{Design: r.Design, Loom: r.Loom, Solved: r.Solved, Findings: r.Findings, Verdict: r.Verdict, Drawings: format(a3)})
	if err != nil {
		return err
	}
	_, err = doc.WriteTo(w)
	return err
}

func format(a3 bool) paper.Format {
	if a3 {
		return paper.A3Lying
	}
	return paper.A4Lying
}

// bookInput gathers what the book is made from.
func bookInput(r *run.Result, rooms []study.Room) report.Input {
	maps, err := run.Maps(context.Background(), r, nil)
	noMaps := ""
	if err != nil {
		noMaps = err.Error()
	}
	settings, err := run.Settings(r)
	if err != nil && noMaps == "" {
		noMaps = err.Error()
	}
	return report.Input{
		Design: r.Design, Loom: r.Loom, Solved: r.Solved, Findings: r.Findings, Verdict: r.Verdict, Rooms: rooms, Maps: maps, NoMaps: noMaps, Settings: settings,
	}
}

// writeWhole writes a file beside its place and renames it over, so that a
// crash leaves the old one whole.
func writeWhole(name string, data []byte) error {
	if err := writable(name); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".fettle-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", name, bare(err))
	}
	defer os.Remove(f.Name())
	if _, err = f.Write(data); err == nil {
		err = f.Chmod(0o644)
	}
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", name, bare(err))
	}
	return nil
}

// writable reports what keeps a file from being written at a place.
func writable(name string) error {
	dir := filepath.Dir(name)
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("write %s: there is no folder %q; make it first", name, dir)
	case err != nil:
		return fmt.Errorf("write %s: %w", name, bare(err))
	case !info.IsDir():
		return fmt.Errorf("write %s: %q is a file, not a folder", name, dir)
	}
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return fmt.Errorf("write %s: it is a folder; name a file in it", name)
	}
	return nil
}

// bare is what the system says without its own name for what was tried.
func bare(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err
	}
	return err
}

// heads says the stops before a verb's own words: a stop heads tables and book,
// it never prevents them.
func heads(e *env, r *run.Result) {
	for _, f := range r.Findings {
		if f.Severity == diag.Stop && f.Waived == "" {
			fmt.Fprintf(e.err, "stop: %s [%s]\n", f.Msg, f.Rule)
		}
	}
}

func jsonErrors(e *env, r *run.Result) error {
	if err := writeJSON(e.out, r.Errors); err != nil {
		return err
	}
	return quiet(2)
}
