// Package folder is the one package that opens files: it reads and writes a
// build folder, and loses nothing that somebody else wrote there meanwhile.
//
// Conventions: a name is a path inside the folder with forward strokes,
// "maps/ve.csv"; none leads out of it, not by "..", nor by a link. A [Stamp] is
// the hash of a file's content and not its date, so that a checkout or a copy
// is no change. A file is replaced whole: written beside its place, flushed,
// renamed over the old one, so that after a crash either the old or the new
// content stands there, never a part. Saves by several processes take turns
// where the system has advisory locks (Unix); an editor takes no turn, so
// between the last look at a file and the rename, some microseconds, its save
// can still be overwritten. No clock is read: dates are passed in by the
// caller. Start reading at [Folder.Save].
package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Main is the file that makes a folder a build folder.
const Main = "build.yaml"

// readLimit bounds what Read takes into memory; drive logs are opened instead.
const readLimit = 64 << 20

// Stamp is the hash of a file's content; "" stands for a file that isn't there.
type Stamp string

// StampOf is the stamp of content in memory.
func StampOf(data []byte) Stamp {
	h := sha256.Sum256(data)
	return Stamp(hex.EncodeToString(h[:]))
}

// Error is a failure told to the user: what happened and what helps.
type Error struct {
	Msg, Hint string
	Err       error // the cause, may be nil
}

func (e *Error) Error() string {
	if e.Err != nil {
		return e.Msg + ": " + e.Err.Error()
	}
	return e.Msg
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Changed says that a file was changed by somebody else since it was read, so
// that it was not saved. The content that was to be saved is kept in KeptAs.
type Changed struct {
	Name            string
	Expected, Found Stamp
	KeptAs          string
}

func (e *Changed) Error() string {
	what := "was changed on disk"
	switch {
	case e.Found == "":
		what = "was removed from disk"
	case e.Expected == "":
		what = "was made on disk by somebody else"
	}
	return fmt.Sprintf("%s %s meanwhile; your version is kept as %s", e.Name, what, e.KeptAs)
}

// Folder is an open build folder.
type Folder struct {
	root *os.Root
	dir  string
	mu   sync.Mutex // one writer at a time within the process
}

// Open opens a build folder, which must have a build file.
func Open(dir string) (*Folder, error) {
	if dir == "" {
		return nil, &Error{Msg: "the build folder has an empty name", Hint: "name it, or leave it out for the one you are in"}
	}
	if err := isFile(dir); err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &Error{
			Msg:  fmt.Sprintf("there is no folder %q", dir),
			Hint: fmt.Sprintf("fettle new %s begins a build of your own there, fettle demo %s writes an example", dir, dir),
		}
	case err != nil:
		return nil, explain("open build folder", strconv.Quote(dir), err)
	}
	f := &Folder{root: root, dir: dir}
	switch info, err := root.Stat(Main); {
	case errors.Is(err, fs.ErrNotExist):
		err = &Error{
			Msg:  fmt.Sprintf("%q is no build folder: it has no %s", dir, Main),
			Hint: "name the folder with the build file; fettle new DIR begins a build of your own, fettle demo DIR writes an example",
		}
		return nil, errors.Join(err, root.Close())
	case err != nil:
		return nil, errors.Join(explain("open", Main, err), root.Close())
	case !info.Mode().IsRegular():
		return nil, errors.Join(&Error{
			Msg:  fmt.Sprintf("%s in %q is not a file", Main, dir),
			Hint: "put the build file itself there",
		}, root.Close())
	}
	return f, nil
}

// isFile refuses a file where a build folder is due.
func isFile(dir string) error {
	info, err := os.Stat(dir)
	if err != nil || info.IsDir() {
		return nil // what else is wrong is said when it is opened
	}
	hint := "name the folder with the build file"
	if filepath.Base(dir) == Main {
		hint = "name the folder that it stands in: " + filepath.Dir(dir)
	}
	return &Error{Msg: fmt.Sprintf("%q is a file, not a build folder", dir), Hint: hint}
}

// Close releases the folder.
func (f *Folder) Close() error { return f.root.Close() }

// Dir is the path the folder was opened by.
func (f *Folder) Dir() string { return f.dir }

// check refuses names that are no plain path inside the folder.
func check(name string) error {
	switch {
	case name == "" || name == ".":
		return &Error{Msg: "a file without a name"}
	case strings.ContainsAny(name, "\\\x00\n\r") || len(name) > 400:
		return &Error{Msg: fmt.Sprintf("%q is no name for a file", name)}
	case !fs.ValidPath(name):
		return &Error{Msg: fmt.Sprintf("%q leads out of the build folder", name), Hint: "name a file inside the build folder"}
	}
	return nil
}

// explain wraps a system error with the name, and says so when a link leads out.
func explain(act, name string, err error) error {
	if err == nil {
		return nil
	}
	if strings.Contains(err.Error(), "escapes from parent") {
		return &Error{Msg: fmt.Sprintf("%s leads out of the build folder by a link", name), Hint: "put the file itself there"}
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	e := &Error{Msg: act + " " + name, Err: err}
	if errors.Is(err, fs.ErrPermission) {
		e.Hint = "its owner has to let you at it"
	}
	return e
}

// Read returns a file with its stamp. A file that isn't there gives an error
// that is fs.ErrNotExist, and the empty stamp.
func (f *Folder) Read(name string) ([]byte, Stamp, error) {
	if err := check(name); err != nil {
		return nil, "", err
	}
	data, err := f.read(name)
	if err != nil {
		return nil, "", explain("read", name, err)
	}
	return data, StampOf(data), nil
}

func (f *Folder) read(name string) ([]byte, error) {
	file, err := f.root.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	info, err := file.Stat()
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, errors.New("not a file")
	case info.Size() > readLimit:
		return nil, fmt.Errorf("%d MB long, at most %d MB are read at once", info.Size()>>20, readLimit>>20)
	}
	return io.ReadAll(io.LimitReader(file, readLimit))
}

// Stamp returns the stamp of a file as it is on disk now.
func (f *Folder) Stamp(name string) (Stamp, error) {
	_, s, err := f.Read(name)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	return s, err
}

// OpenFile opens a file for reading, a drive log for example, and tells its
// length. The caller closes it.
func (f *Folder) OpenFile(name string) (*os.File, int64, error) {
	if err := check(name); err != nil {
		return nil, 0, err
	}
	file, err := f.root.Open(name)
	if err != nil {
		return nil, 0, explain("open", name, err)
	}
	info, err := file.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("not a file")
	}
	if err != nil {
		return nil, 0, errors.Join(explain("open", name, err), file.Close())
	}
	return file, info.Size(), nil
}

// List names the files in a sub-folder, sorted, without hidden ones and without
// what a crash left behind; "." is the folder itself. A sub-folder that isn't
// there has none.
func (f *Folder) List(sub string) ([]string, error) {
	if sub != "." {
		if err := check(sub); err != nil {
			return nil, err
		}
	}
	entries, err := fs.ReadDir(f.root.FS(), sub)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, explain("list", sub, err)
	}
	var out []string
	for _, e := range entries {
		if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") {
			out = append(out, path.Join(sub, e.Name()))
		}
	}
	slices.Sort(out)
	return out, nil
}
