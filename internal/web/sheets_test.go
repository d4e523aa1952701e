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

// TestMapsAreShapedAndWalked tries a change without making it, fills, smooths and
// pastes cells, and walks the revisions back and forth.
func TestMapsAreShapedAndWalked(t *testing.T) {
	b := newBench(t)
	b.do("POST", "/maps/write", url.Values{"map": {"ve"}}, nil)
	first := strings.Join(b.cells(t), "")
	act := func(act string, more url.Values) (status int, page string) {
		t.Helper()
		src, err := os.ReadFile(filepath.Join(b.dir, "maps", "ve.csv"))
		if err != nil {
			t.Fatal(err)
		}
		form := mapForm("", "because", string(folder.StampOf(src)))
		form.Set("act", act)
		for k, v := range more {
			form[k] = v
		}
		path := "/maps/edit"
		if more.Has("way") {
			path = "/maps/step"
		}
		res, text := b.do("POST", path, form, nil)
		return res.StatusCode, text
	}
	if status, page := act("try", url.Values{"text": {"+10 %"}, "reason": {""}}); status != http.StatusOK || !strings.Contains(page, "2 of 2 cells would go from") {
		t.Errorf("try: %d", status)
	}
	if got := strings.Join(b.cells(t), ""); got != first {
		t.Fatal("a try wrote")
	}
	paste := url.Values{"cells": {"0.5\t0.6\n0.7\t0.8\n0.9\t1"}}
	if status, _ := act("paste", paste); status != http.StatusSeeOther {
		t.Fatalf("paste: %d", status)
	}
	pasted := b.cells(t)
	if f := strings.Split(strings.TrimSpace(pasted[5]), ","); f[2] != "0.9" || f[3] != "1" {
		t.Errorf("row 3 after the paste: %v", f)
	}
	if status, page := act("paste", url.Values{"cells": {"a\tb"}}); status != http.StatusUnprocessableEntity || !strings.Contains(page, "cell 1 of line 1") {
		t.Errorf("letters are pasted: %d", status)
	}
	if status, _ := act("between", url.Values{"r0": {"2"}, "r1": {"4"}, "c0": {"1"}, "c1": {"1"}}); status != http.StatusSeeOther {
		t.Fatalf("between: %d", status)
	}
	between := b.cells(t)
	if between[4] == pasted[4] || between[3] != pasted[3] || between[5] != pasted[5] {
		t.Error("filling moved an end, or nothing")
	}
	if status, _ := act("smooth", url.Values{"r0": {"1"}, "r1": {"5"}, "c0": {"1"}, "c1": {"3"}}); status != http.StatusSeeOther {
		t.Fatalf("smooth: %d", status)
	}
	for step, want := range []string{strings.Join(between, ""), strings.Join(pasted, ""), first} {
		if status, _ := act("", url.Values{"way": {"undo"}}); status != http.StatusSeeOther || strings.Join(b.cells(t), "") != want {
			t.Errorf("undo %d: %d", step+1, status)
		}
	}
	if status, _ := act("", url.Values{"way": {"undo"}}); status != http.StatusUnprocessableEntity {
		t.Errorf("an undo before the first: %d", status)
	}
	if status, _ := act("", url.Values{"way": {"redo"}}); status != http.StatusSeeOther || strings.Join(b.cells(t), "") != strings.Join(pasted, "") {
		t.Errorf("redo: %d", status)
	}
	page := b.get("/maps?map=ve&show=difference&against=1")
	if !strings.Contains(page, "This table less the other") || !strings.Contains(page, "map-along-x") {
		t.Error("no difference, or no section")
	}
	if page := b.get("/maps?map=ve&show=spread"); !strings.Contains(page, "One standard deviation") {
		t.Error("no spread")
	}
	if csv := b.get("/maps/ve.csv"); !strings.Contains(csv, "# name: ") || !strings.Contains(csv, pasted[5]) {
		t.Error("the CSV is not the table")
	}
	if res, _ := b.do("GET", "/maps/none.csv", nil, nil); res.StatusCode != http.StatusNotFound {
		t.Errorf("a table that is not there: %s", res.Status)
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
	c := &closed{l: cur.Ledger, known: map[string]string{}}
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
