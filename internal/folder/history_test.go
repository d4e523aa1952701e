package folder_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"fettle/internal/folder"
)

func onDisk(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// A walk over revisions: two edits, both taken back, one made again, a new one.
func TestHistoryWalksBackAndForth(t *testing.T) {
	dir := t.TempDir()
	onDisk(t, dir, "build.yaml", "fettle: 1\n")
	f, err := folder.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteMap("ve", []byte("a"), "computed"); err != nil {
		t.Fatal(err)
	}
	state := func() folder.History {
		revs, err := f.Revisions()
		if err != nil {
			t.Fatal(err)
		}
		found, err := f.Stamp("maps/ve.csv")
		if err != nil {
			t.Fatal(err)
		}
		return folder.HistoryOf(revs, "ve", found)
	}
	put := func(content string) {
		seen, _ := f.Stamp("maps/ve.csv")
		if _, err := f.EditMap("ve", []byte(content), "because", seen); err != nil {
			t.Fatal(err)
		}
	}
	walk := func(n int) string {
		h := state()
		name := h.File(n)
		if name == "" {
			t.Fatalf("the content of revision %d is kept nowhere", n)
		}
		data, _, err := f.Read(name)
		if err != nil {
			t.Fatal(err)
		}
		put(string(data))
		return string(data)
	}
	is := func(step string, now, undo, redo int) {
		t.Helper()
		h := state()
		if got, want := fmt.Sprint(h.Now, h.Undo, h.Redo), fmt.Sprint(now, undo, redo); got != want {
			t.Errorf("%s: now, undo, redo are %s, want %s", step, got, want)
		}
	}
	is("computed", 1, 0, 0)
	put("b")
	put("c")
	is("two edits", 3, 2, 0)
	if got := walk(state().Undo); got != "b" {
		t.Errorf("undo gives %q", got)
	}
	is("one back", 2, 1, 3)
	if got := walk(state().Undo); got != "a" {
		t.Errorf("undo gives %q", got)
	}
	is("two back", 1, 0, 2)
	if got := walk(state().Redo); got != "b" {
		t.Errorf("redo gives %q", got)
	}
	if got := walk(state().Redo); got != "c" {
		t.Errorf("redo gives %q", got)
	}
	is("again at the end", 3, 2, 0)
	walk(state().Undo)
	put("d")
	is("another way on", 9, 2, 0)
	onDisk(t, dir, "maps/ve.csv", "by an editor")
	is("changed outside", 0, 0, 0)
}
