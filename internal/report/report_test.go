package report

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"fettle/internal/calibrate"
	"fettle/internal/demo"
	"fettle/internal/drawing"
	"fettle/internal/run"
)

var pictures = flag.String("pictures", "", "write the demo's book as PDF into this folder, to be looked at")

// camper is the demo's book, with 200 draws.
var camper = sync.OnceValues(func() (Input, error) { return solved(nil) })

// solved makes the input of a book from the demo's files, bent.
func solved(bend func(src string) string) (Input, error) {
	files, err := demo.Files("camper")
	if err != nil {
		return Input{}, err
	}
	src := string(files["build.yaml"])
	if bend != nil {
		src = bend(src)
	}
	in := run.Input{File: "build.yaml", Src: []byte(src), Parts: map[string][]byte{}}
	for name, b := range files {
		if strings.HasPrefix(name, "parts/") {
			in.Parts[name] = b
		}
	}
	c, err := run.NewCache()
	if err != nil {
		return Input{}, err
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil {
		return Input{}, err
	}
	if !r.OK() {
		return Input{}, &badFile{r.Errors[0].String()}
	}
	rooms, err := run.Spread(context.Background(), r, 200, nil)
	if err != nil {
		return Input{}, err
	}
	maps, err := calibrate.Tables(context.Background(), calibrate.New(r.Design, r.Solved.Vehicle.Response()))
	if err != nil {
		return Input{}, err
	}
	settings, err := run.Settings(r)
	if err != nil {
		return Input{}, err
	}
	return Input{
		File: "build.yaml", Design: r.Design, Loom: r.Loom, Solved: r.Solved, Findings: r.Findings, Verdict: r.Verdict,
		Rooms: rooms, Maps: maps, Settings: settings, Version: "test",
	}, nil
}

type badFile struct{ text string }

func (e *badFile) Error() string { return e.text }

func book1(t *testing.T) Input {
	t.Helper()
	in, err := camper()
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func write(t *testing.T, in Input) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Book(&b, in); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestNothingClashes(t *testing.T) {
	d, err := Document(book1(t))
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range d.Pages() {
		if c := drawing.Clashes(p); len(c) > 0 {
			t.Errorf("sheet %d, %s:\n  %s", i+1, p.Title, strings.Join(c, "\n  "))
		}
	}
}

func TestSameBytes(t *testing.T) {
	in := book1(t)
	a, b := write(t, in), write(t, in)
	if !bytes.Equal(a, b) {
		t.Error("the same vehicle gives different bytes")
	}
	if *pictures != "" {
		if err := os.WriteFile(filepath.Join(*pictures, "book.pdf"), a, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
