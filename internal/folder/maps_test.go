package folder_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/folder"
)

func write(t *testing.T, f *folder.Folder, data, reason string) folder.MapResult {
	t.Helper()
	r, err := f.WriteMap("ve", []byte(data), reason)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestWriteMapKeepsHistory(t *testing.T) {
	f := newFolder(t, nil)
	if r := write(t, f, "one\n", "first"); r.File != "maps/ve.csv" || r.Kept != "" || r.Proposed {
		t.Errorf("first: %+v", r)
	}
	if r := write(t, f, "one\n", "again"); !r.Same {
		t.Errorf("same content: %+v", r)
	}
	if r := write(t, f, "two\n", "bigger bore"); r.Kept != "maps/history/ve-1.csv" || get(t, f, r.Kept) != "one\n" {
		t.Errorf("second: %+v", r)
	}
	if r := write(t, f, "three\n", "other cams"); r.Kept != "maps/history/ve-2.csv" || get(t, f, r.Kept) != "two\n" {
		t.Errorf("third: %+v", r)
	}
	if got := get(t, f, "maps/ve.csv"); got != "three\n" {
		t.Errorf("table holds %q", got)
	}
	revs, err := f.Revisions()
	if err != nil || len(revs) != 3 || revs[1].Reason != "bigger bore" || revs[2].N != 3 || revs[2].Kept != "maps/history/ve-2.csv" {
		t.Errorf("journal: %+v, %v", revs, err)
	}
}

func TestWriteMapSparesHandWork(t *testing.T) {
	f := newFolder(t, nil)
	write(t, f, "one\n", "first")
	put(t, f.Dir(), "maps/ve.csv", "by hand\n")
	r := write(t, f, "two\n", "bigger bore")
	if !r.Proposed || r.File != "maps/ve.proposed.csv" || get(t, f, r.File) != "two\n" {
		t.Errorf("over hand work: %+v", r)
	}
	if got := get(t, f, "maps/ve.csv"); got != "by hand\n" {
		t.Errorf("hand work became %q", got)
	}
	if r = write(t, f, "three\n", "other cams"); r.File != "maps/ve.proposed.csv" || get(t, f, r.File) != "three\n" {
		t.Errorf("a proposal of its own is replaced: %+v", r)
	}
	put(t, f.Dir(), "maps/ve.proposed.csv", "proposal, by hand\n")
	if r = write(t, f, "four\n", "again"); r.File != "maps/ve.proposed-2.csv" || get(t, f, "maps/ve.proposed.csv") != "proposal, by hand\n" {
		t.Errorf("over a proposal that a hand changed: %+v", r)
	}
	// The user accepts the proposal by renaming it: it is fettle's own work again.
	if err := os.Rename(filepath.Join(f.Dir(), "maps/ve.proposed-2.csv"), filepath.Join(f.Dir(), "maps/ve.csv")); err != nil {
		t.Fatal(err)
	}
	if r = write(t, f, "five\n", "again"); r.Proposed || r.File != "maps/ve.csv" {
		t.Errorf("over an accepted proposal: %+v", r)
	}
}

func TestEditMapIsHandWork(t *testing.T) {
	f := newFolder(t, nil)
	seen := write(t, f, "one\n", "first").Stamp
	r, err := f.EditMap("ve", []byte("edited\n"), "leaner at idle", seen)
	if err != nil || r.Kept != "maps/history/ve-1.csv" || get(t, f, "maps/ve.csv") != "edited\n" {
		t.Fatalf("edit: %+v, %v", r, err)
	}
	if r := write(t, f, "two\n", "bigger bore"); !r.Proposed {
		t.Errorf("a page's edit was replaced: %+v", r)
	}
	_, err = f.EditMap("ve", []byte("late\n"), "late", seen)
	var changed *folder.Changed
	if !errors.As(err, &changed) || get(t, f, changed.KeptAs) != "late\n" || get(t, f, "maps/ve.csv") != "edited\n" {
		t.Errorf("edit of a changed table: %v", err)
	}
	if _, err := f.EditMap("ve", []byte("x\n"), " ", r.Stamp); err == nil || !strings.Contains(err.Error(), "has no reason") {
		t.Errorf("edit without reason: %v", err)
	}
	for _, name := range []string{"", "../ve", "VE", "a/b", "ve.csv"} {
		if _, err := f.WriteMap(name, []byte("x"), "r"); err == nil {
			t.Errorf("table name %q was taken", name)
		}
	}
}

// TestMapAfterCrash: the journal names a revision whose table was not written,
// and its last line is torn. Nothing is lost and the next revision goes on.
func TestMapAfterCrash(t *testing.T) {
	f := newFolder(t, nil)
	write(t, f, "one\n", "first")
	put(t, f.Dir(), "maps/history/ve-1.csv", "one\n")
	put(t, f.Dir(), folder.Index, get(t, f, folder.Index)+
		`{"map":"ve","n":2,"by":"fettle","reason":"lost","sha256":"00","file":"maps/ve.csv","kept":"maps/history/ve-1.csv"}`+"\n"+`{"map":"ve","n":3,"by"`)
	r := write(t, f, "two\n", "once more")
	if r.Kept != "maps/history/ve-1.csv" || get(t, f, "maps/ve.csv") != "two\n" || get(t, f, r.Kept) != "one\n" {
		t.Errorf("after a crash: %+v", r)
	}
	revs, err := f.Revisions()
	if err != nil || len(revs) != 3 || revs[2].Reason != "once more" {
		t.Errorf("journal: %+v, %v", revs, err)
	}
}
