package web

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/folder"
)

// mapForm is a change of cells as the sheet sends it.
func mapForm(text, reason, seen string) url.Values {
	return url.Values{"map": {"ve"}, "r0": {"2"}, "r1": {"3"}, "c0": {"1"}, "c1": {"1"}, "text": {text}, "reason": {reason}, "seen": {seen}}
}

func (b *bench) cells(t *testing.T) []string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(b.dir, "maps", "ve.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var rows []string
	for line := range strings.Lines(string(src)) {
		if !strings.HasPrefix(line, "#") {
			rows = append(rows, line)
		}
	}
	return rows
}

// TestMapsAreWrittenChangedAndBroughtBack walks a table from computed to changed
// and back: every step is a revision, and only the asked cells change.
func TestMapsAreWrittenChangedAndBroughtBack(t *testing.T) {
	b := newBench(t)
	if res, _ := b.do("POST", "/maps/write", url.Values{"map": {"ve"}}, nil); res.StatusCode != http.StatusSeeOther {
		t.Fatalf("write: %s", res.Status)
	}
	before := b.cells(t)
	stamp := func() string {
		src, err := os.ReadFile(filepath.Join(b.dir, "maps", "ve.csv"))
		if err != nil {
			t.Fatal(err)
		}
		return string(folder.StampOf(src))
	}
	for _, bad := range []url.Values{mapForm("+3 %", "", stamp()), mapForm("lots", "richer", stamp()), mapForm("+", "richer", stamp())} {
		res, text := b.do("POST", "/maps/edit", bad, nil)
		if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(text, "change-no") {
			t.Errorf("%v: %s", bad, res.Status)
		}
	}
	if got := b.cells(t); strings.Join(got, "") != strings.Join(before, "") {
		t.Fatal("a refused change wrote")
	}
	if res, _ := b.do("POST", "/maps/edit", mapForm("=0.5", "it coughed there", stamp()), nil); res.StatusCode != http.StatusSeeOther {
		t.Fatalf("edit: %s", res.Status)
	}
	after := b.cells(t)
	for i := range after {
		was, is := strings.Split(strings.TrimSpace(before[i]), ","), strings.Split(strings.TrimSpace(after[i]), ",")
		for k := range is {
			asked := (i == 3 || i == 4) && k == 2
			if asked && is[k] != "0.5" || !asked && is[k] != was[k] {
				t.Errorf("row %d, cell %d: %s, was %s", i, k, is[k], was[k])
			}
		}
	}
	page := b.get("/maps?map=ve")
	if !strings.Contains(page, "it coughed there") {
		t.Error("the revision's reason is not shown")
	}
	if res, _ := b.do("POST", "/maps/edit", mapForm("+1", "an old page", "not the stamp"), nil); res.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("an edit of a table that changed meanwhile: %s", res.Status)
	}
	if res, _ := b.do("POST", "/maps/back", url.Values{"map": {"ve"}, "n": {"2"}, "seen": {stamp()}}, nil); res.StatusCode != http.StatusSeeOther {
		t.Fatalf("back: %s", res.Status)
	}
	if got := b.cells(t); strings.Join(got, "") != strings.Join(before, "") {
		t.Error("the table did not come back as it was")
	}
}

// TestQuestionsMakeTheBuild answers questions on the page: the file follows, and
// stops following once somebody changed it elsewhere.
func TestQuestionsMakeTheBuild(t *testing.T) {
	b := begunBench(t)
	answer := func(key, text string) (*http.Response, string) {
		b.get("/questions")
		q := url.Values{"page": {"questions"}, "seen": {string(folder.StampOf([]byte(b.file())))}}
		return b.do("POST", "/edit?"+q.Encode(), url.Values{"path": {"answers/" + key}, "what": {"answer " + key}, "text": {text}}, nil)
	}
	if res, _ := answer("cylinders", "6"); res.StatusCode != http.StatusSeeOther {
		t.Fatalf("answer: %s", res.Status)
	}
	if !strings.Contains(b.file(), "  cylinders: 6\n  firing order: 1-5-3-6-2-4\n") {
		t.Error("the file does not follow the answer")
	}
	for key, text := range map[string]string{"cylinders": "7", "bore": "wide", "nothing": "1"} {
		before := b.file()
		if res, _ := answer(key, text); res.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s %q: %s", key, text, res.Status)
		}
		if b.file() != before {
			t.Errorf("%s %q was written", key, text)
		}
	}
	if res, _ := b.edit(url.Values{"path": {"climate/hottest"}, "what": {"hottest"}, "text": {"44 °C"}}, nil); res.StatusCode != http.StatusSeeOther {
		t.Fatalf("edit elsewhere: %s", res.Status)
	}
	grown := b.file()
	if res, _ := answer("cylinders", "4"); res.StatusCode != http.StatusUnprocessableEntity || b.file() != grown {
		t.Errorf("the sheet wrote over a file that has grown: %s", res.Status)
	}
	if page := b.get("/questions"); !strings.Contains(page, "grown beyond this sheet") {
		t.Error("the page does not say that the file has grown")
	}
}

// TestQuestionsNumbersOpen holds the question sheet to the rule of all pages.
func TestQuestionsNumbersOpen(t *testing.T) {
	b := begunBench(t)
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c := &closed{cur.Ledger, map[string]string{}}
	for _, m := range bareNumbers(b.get("/questions"), cur.Design.Cat.PartNames(), c) {
		t.Error(m)
	}
}

// TestHeadlinesAreTrue holds a sheet that has no cause of its own, but suffers
// from one elsewhere, to say so.
func TestHeadlinesAreTrue(t *testing.T) {
	b := newBench(t)
	for path, want := range map[string]string{"/fuel": "fuel runs short at full power", "/engine": "the spark is weak while cranking"} {
		if page := b.get(path); !strings.Contains(page, want) {
			t.Errorf("%s does not say that %s", path, want)
		}
	}
	mended := begunBench(t)
	for path, want := range map[string]string{"/fuel": "holds what was asked of it", "/engine": "as its papers say", "/loom": "has its place", "/driveline": "carries what was asked"} {
		if page := mended.get(path); !strings.Contains(page, want) {
			t.Errorf("%s does not say that it %s", path, want)
		}
	}
}
