package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"slices"
	"strconv"
	"syscall"
)

// Create makes a new build folder with the given files, by name, and opens it.
// It refuses a folder that has anything in it. The build file is written last,
// so that a folder half made is none. What it made before a failure it removes.
func Create(dir string, files map[string][]byte) (*Folder, error) {
	if _, ok := files[Main]; !ok {
		return nil, &Error{Msg: fmt.Sprintf("a build folder without %s", Main)}
	}
	for name := range files {
		if err := check(name); err != nil {
			return nil, err
		}
	}
	if err := claim(dir); err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, &Error{Msg: fmt.Sprintf("open %q", dir), Err: err}
	}
	f := &Folder{root: root, dir: dir}
	if err := f.fill(files); err != nil {
		return nil, errors.Join(err, root.Close())
	}
	return f, nil
}

func claim(dir string) error {
	if dir == "" {
		return &Error{Msg: "the folder has an empty name", Hint: "name a folder that does not exist yet"}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		var pe *fs.PathError
		if errors.As(err, &pe) && errors.Is(err, syscall.ENOTDIR) {
			return &Error{Msg: fmt.Sprintf("make folder %q: %q is a file", dir, pe.Path), Hint: "name a folder that does not exist yet"}
		}
		return explain("make folder", strconv.Quote(dir), err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return &Error{Msg: fmt.Sprintf("look into %q", dir), Err: err}
	}
	if len(entries) > 0 {
		return &Error{
			Msg:  fmt.Sprintf("%q is not empty (%s), and nothing in it is overwritten", dir, entries[0].Name()),
			Hint: "name a folder that does not exist yet",
		}
	}
	return nil
}

func (f *Folder) fill(files map[string][]byte) error {
	names := slices.DeleteFunc(slices.Sorted(maps.Keys(files)), func(n string) bool { return n == Main })
	names = append(names, Main)
	for i, name := range names {
		if err := f.replace(name, files[name]); err != nil {
			err = explain("write", name, err)
			for _, done := range names[:i] {
				err = errors.Join(err, ignoreMissing(f.root.Remove(done)))
			}
			f.removeEmpty(names)
			return err
		}
	}
	return nil
}

// removeEmpty takes away the sub-folders that were made for files, deepest
// first; one with something in it stays, which is why the error is of no use.
func (f *Folder) removeEmpty(names []string) {
	var dirs []string
	for _, name := range names {
		for d := path.Dir(name); d != "."; d = path.Dir(d) {
			dirs = append(dirs, d)
		}
	}
	slices.SortFunc(dirs, func(a, b string) int { return len(b) - len(a) })
	for _, d := range slices.Compact(dirs) {
		if entries, err := fs.ReadDir(f.root.FS(), d); err == nil && len(entries) == 0 {
			_ = f.root.Remove(d)
		}
	}
}
