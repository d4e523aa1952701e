package folder_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"fettle/internal/folder"
)

func newFolder(t *testing.T, files map[string]string) *folder.Folder {
	t.Helper()
	dir := t.TempDir()
	put(t, dir, "build.yaml", "name: a van\n")
	for name, text := range files {
		put(t, dir, name, text)
	}
	f, err := folder.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	})
	return f
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	full := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func get(t *testing.T, f *folder.Folder, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(f.Dir(), filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestOpenSaysWhatIsMissing(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct{ dir, msg, hint string }{
		{filepath.Join(dir, "none"), "there is no folder", "fettle new "},
		{dir, "is no build folder: it has no build.yaml", "fettle new DIR"},
	} {
		_, err := folder.Open(c.dir)
		var e *folder.Error
		if !errors.As(err, &e) || !strings.Contains(e.Msg, c.msg) || !strings.Contains(e.Hint, c.hint) {
			t.Errorf("Open(%s) = %v", c.dir, err)
		}
	}
}

func TestSave(t *testing.T) {
	f := newFolder(t, nil)
	if err := os.Chmod(filepath.Join(f.Dir(), "build.yaml"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, seen, err := f.Read("build.yaml")
	if err != nil {
		t.Fatal(err)
	}
	stamp, err := f.Save("build.yaml", []byte("name: mended\n"), seen)
	if err != nil || stamp != folder.StampOf([]byte("name: mended\n")) {
		t.Fatalf("save = %s, %v", stamp, err)
	}
	if got := get(t, f, "build.yaml"); got != "name: mended\n" {
		t.Errorf("file holds %q", got)
	}
	info, err := os.Stat(filepath.Join(f.Dir(), "build.yaml"))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("permission became %v, %v; want 0600 kept", info.Mode(), err)
	}
	if _, err := f.Save("parts/pump.yaml", []byte("x: 1\n"), ""); err != nil {
		t.Errorf("new file in a new sub-folder: %v", err)
	}
	if _, err := f.Save("build.yaml", []byte("name: mended\n"), "0000"); err != nil {
		t.Errorf("content that is there already is no conflict: %v", err)
	}
}

func TestSaveKeepsBothVersions(t *testing.T) {
	f := newFolder(t, nil)
	_, seen, err := f.Read("build.yaml")
	if err != nil {
		t.Fatal(err)
	}
	put(t, f.Dir(), "build.yaml", "name: theirs\n")
	for i, mine := range []string{"name: mine\n", "name: mine again\n", "name: mine\n"} {
		want := []string{"build.yaml.yours-1", "build.yaml.yours-2", "build.yaml.yours-1"}[i]
		_, err = f.Save("build.yaml", []byte(mine), seen)
		var changed *folder.Changed
		if !errors.As(err, &changed) || changed.KeptAs != want {
			t.Fatalf("save over a changed file = %v", err)
		}
		if changed.Expected != seen || changed.Found != folder.StampOf([]byte("name: theirs\n")) {
			t.Errorf("stamps of the conflict: %+v", changed)
		}
		if got := get(t, f, want); got != mine {
			t.Errorf("%s holds %q, want %q", want, got, mine)
		}
	}
	if got := get(t, f, "build.yaml"); got != "name: theirs\n" {
		t.Errorf("the other's version became %q", got)
	}
	if err := os.Remove(filepath.Join(f.Dir(), "build.yaml")); err != nil {
		t.Fatal(err)
	}
	if _, err = f.Save("build.yaml", []byte("late\n"), seen); err == nil || !strings.Contains(err.Error(), "was removed from disk") {
		t.Errorf("save over a removed file = %v", err)
	}
	if _, err = f.Save("build.yaml.yours-1", []byte("new\n"), ""); err == nil || !strings.Contains(err.Error(), "by somebody else") {
		t.Errorf("save of a file that should be new = %v", err)
	}
}

// TestConcurrentSave: of many that read the same version, exactly one saves, in
// one Folder and in several opened on the same place.
func TestConcurrentSave(t *testing.T) {
	const n = 24
	first := newFolder(t, nil)
	second, err := folder.Open(first.Dir())
	if err != nil {
		t.Fatal(err)
	}
	defer second.Close()
	_, seen, err := first.Read("build.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	errs := make([]error, n)
	for i := range n {
		wg.Go(func() {
			f := []*folder.Folder{first, second}[i%2]
			_, errs[i] = f.Save("build.yaml", fmt.Appendf(nil, "name: writer %d\n", i), seen)
		})
	}
	wg.Wait()
	won, kept := -1, map[string]bool{}
	for i, err := range errs {
		var changed *folder.Changed
		switch {
		case err == nil && won >= 0:
			t.Errorf("writers %d and %d both saved", won, i)
		case err == nil:
			won = i
		case !errors.As(err, &changed):
			t.Errorf("writer %d: %v", i, err)
		default:
			kept[changed.KeptAs] = true
			if got, want := get(t, first, changed.KeptAs), fmt.Sprintf("name: writer %d\n", i); got != want {
				t.Errorf("%s holds %q, want %q", changed.KeptAs, got, want)
			}
		}
	}
	if won < 0 || len(kept) != n-1 {
		t.Fatalf("winner %d, %d versions kept, want one winner and %d kept", won, len(kept), n-1)
	}
	if got, want := get(t, first, "build.yaml"), fmt.Sprintf("name: writer %d\n", won); got != want {
		t.Errorf("file holds %q, want %q", got, want)
	}
	noLeftovers(t, first.Dir())
}

func noLeftovers(t *testing.T, dir string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if strings.Contains(filepath.Base(p), ".part-") {
			t.Errorf("left behind: %s", p)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

func TestNamesStayInside(t *testing.T) {
	f := newFolder(t, nil)
	outside := t.TempDir()
	put(t, outside, "secret.txt", "secret")
	for link, to := range map[string]string{
		"out.txt": filepath.Join(outside, "secret.txt"), "outdir": outside, "up": "..",
	} {
		if err := os.Symlink(to, filepath.Join(f.Dir(), link)); err != nil {
			t.Skip("no links here:", err)
		}
	}
	for _, name := range []string{
		"", ".", "..", "../secret.txt", "/etc/passwd", "maps/../../x", "a//b", "a\\..\\b", "x\x00y", "a\nb", strings.Repeat("a", 500),
		"out.txt", "outdir/secret.txt", "up/x", "outdir/new.txt",
	} {
		if data, _, err := f.Read(name); err == nil {
			t.Errorf("Read(%q) = %q", name, data)
		}
		if _, err := f.Save(name, []byte("x"), ""); err == nil {
			t.Errorf("Save(%q) went through", name)
		}
		if err := f.Append(name, []byte("x")); err == nil {
			t.Errorf("Append(%q) went through", name)
		}
		if file, _, err := f.OpenFile(name); err == nil {
			t.Errorf("OpenFile(%q) went through", name)
			file.Close()
		}
	}
	if _, _, err := f.Read("out.txt"); err == nil || err.Error() != "out.txt leads out of the build folder by a link" {
		t.Errorf("through a link: %v", err)
	}
	if _, _, err := f.Read("../x"); err == nil || err.Error() != `"../x" leads out of the build folder` {
		t.Errorf("upwards: %v", err)
	}
	entries, err := os.ReadDir(outside)
	if err != nil || len(entries) != 1 {
		t.Errorf("outside holds %v, %v", entries, err)
	}
	if err := os.Symlink("build.yaml", filepath.Join(f.Dir(), "alias.yaml")); err != nil {
		t.Fatal(err)
	}
	_, seen, err := f.Read("alias.yaml")
	if err != nil {
		t.Errorf("a link inside reads: %v", err)
	}
	if _, err := f.Save("alias.yaml", []byte("x"), seen); err == nil || !strings.Contains(err.Error(), "links are not written through") {
		t.Errorf("save over a link = %v", err)
	}
}

func TestReadMissing(t *testing.T) {
	f := newFolder(t, nil)
	if _, s, err := f.Read("bringup.jsonl"); !errors.Is(err, fs.ErrNotExist) || s != "" {
		t.Errorf("missing file = %q, %v", s, err)
	}
	if s, err := f.Stamp("bringup.jsonl"); err != nil || s != "" {
		t.Errorf("stamp of a missing file = %q, %v", s, err)
	}
}

func TestListIgnoresLeftovers(t *testing.T) {
	f := newFolder(t, map[string]string{"parts/b.yaml": "", "parts/a.yaml": "", "parts/.a.yaml.part-7-1": "half", ".build.yaml.part-7-2": "na"})
	got, err := f.List("parts")
	if err != nil || !slices.Equal(got, []string{"parts/a.yaml", "parts/b.yaml"}) {
		t.Errorf("List(parts) = %v, %v", got, err)
	}
	if got, err = f.List("."); err != nil || !slices.Equal(got, []string{"build.yaml"}) {
		t.Errorf("List(.) = %v, %v", got, err)
	}
	if got, err = f.List("drives"); err != nil || len(got) != 0 {
		t.Errorf("List(drives) = %v, %v", got, err)
	}
}

func TestAppend(t *testing.T) {
	f := newFolder(t, map[string]string{"bringup.jsonl": "{\"a\":1}\n{\"torn\":"})
	if err := f.Append("bringup.jsonl", []byte(`{"b":2}`)); err != nil {
		t.Fatal(err)
	}
	if got, want := get(t, f, "bringup.jsonl"), "{\"a\":1}\n{\"torn\":\n{\"b\":2}\n"; got != want {
		t.Errorf("journal holds %q, want %q", got, want)
	}
	if err := f.Append("bringup.jsonl", []byte("a\nb")); err == nil {
		t.Error("a line with a break in it was taken")
	}
	var wg sync.WaitGroup
	for i := range 40 {
		wg.Go(func() {
			if err := f.Append("many.jsonl", fmt.Appendf(nil, "line %02d", i)); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	lines := strings.Split(strings.TrimSuffix(get(t, f, "many.jsonl"), "\n"), "\n")
	slices.Sort(lines)
	if len(slices.Compact(lines)) != 40 {
		t.Errorf("%d different lines, want 40", len(lines))
	}
}

func TestCreate(t *testing.T) {
	files := map[string][]byte{"build.yaml": []byte("name: x\n"), "parts/pump.yaml": []byte("p\n"), ".gitignore": []byte("drives/*.csv\n")}
	dir := filepath.Join(t.TempDir(), "new", "van")
	f, err := folder.Create(dir, files)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for name, want := range files {
		if got := get(t, f, name); got != string(want) {
			t.Errorf("%s holds %q", name, got)
		}
	}
	if _, err := folder.Create(dir, files); err == nil || !strings.Contains(err.Error(), "is not empty") {
		t.Errorf("Create over a folder = %v", err)
	}
	if _, err := folder.Create(filepath.Join(t.TempDir(), "x"), map[string][]byte{"a": nil}); err == nil {
		t.Error("Create without a build file went through")
	}
	half := filepath.Join(t.TempDir(), "half")
	if _, err := folder.Create(half, map[string][]byte{"build.yaml": nil, "a": nil, "sub/x": nil, "z": nil, "z/y": nil}); err == nil {
		t.Error("a file and a folder of one name went through")
	}
	if left, err := os.ReadDir(half); err != nil || len(left) != 0 {
		t.Errorf("a failed Create left %v, %v", left, err)
	}
}
