package folder

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"strconv"
)

// Save replaces a file whole and returns its new stamp. Expect is the stamp the
// caller last saw, "" for a new file. When the file on disk is another by now,
// it is left alone, the caller's version is kept beside it as NAME.yours-1 (or
// the next free number) and the error is a *[Changed]; content that is already
// there is no conflict. On any failure the old file stands whole.
func (f *Folder) Save(name string, data []byte, expect Stamp) (Stamp, error) {
	if err := check(name); err != nil {
		return "", err
	}
	unlock, err := f.lock()
	if err != nil {
		return "", err
	}
	defer unlock()
	return f.save(name, data, expect)
}

func (f *Folder) save(name string, data []byte, expect Stamp) (Stamp, error) {
	found, err := f.Stamp(name)
	if err != nil {
		return "", err
	}
	want := StampOf(data)
	switch found {
	case want:
		return want, nil
	case expect:
		return want, explain("save", name, f.replace(name, data))
	}
	kept, err := f.keep(name, data)
	if err != nil {
		return "", err
	}
	return "", &Changed{Name: name, Expected: expect, Found: found, KeptAs: kept}
}

// keep stores a refused version beside the file under the first free number; a
// version kept already is not kept twice.
func (f *Folder) keep(name string, data []byte) (string, error) {
	for n := 1; n < 1000; n++ {
		beside := name + ".yours-" + strconv.Itoa(n)
		switch found, err := f.Stamp(beside); {
		case err != nil:
			return "", err
		case found == StampOf(data):
			return beside, nil
		case found == "":
			return beside, explain("keep your version as", beside, f.replace(beside, data))
		}
	}
	return "", &Error{Msg: fmt.Sprintf("%s was changed on disk, and there are 999 kept versions of it already", name), Hint: "tidy up the files " + name + ".yours-…"}
}

// replace writes a file beside its place, flushes it and renames it over.
func (f *Folder) replace(name string, data []byte) error {
	perm, err := f.permission(name)
	if err != nil {
		return err
	}
	dir, base := path.Split(name)
	if dir != "" {
		if err := f.root.MkdirAll(path.Clean(dir), 0o755); err != nil {
			return err
		}
	}
	temp := fmt.Sprintf("%s.%s.part-%s", dir, base, rand.Text())
	if err := f.write(temp, data, perm); err != nil {
		return errors.Join(err, ignoreMissing(f.root.Remove(temp)))
	}
	if err := f.root.Rename(temp, name); err != nil {
		return errors.Join(err, ignoreMissing(f.root.Remove(temp)))
	}
	return f.flush(path.Dir(name))
}

// permission is that of the file to be replaced, which must be no link.
func (f *Folder) permission(name string) (fs.FileMode, error) {
	info, err := f.root.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return 0o644, nil
	case err != nil:
		return 0, err
	case info.Mode()&fs.ModeSymlink != 0:
		return 0, errors.New("it is a link, and links are not written through")
	case !info.Mode().IsRegular():
		return 0, errors.New("not a file")
	}
	return info.Mode().Perm(), nil
}

func (f *Folder) write(name string, data []byte, perm fs.FileMode) error {
	file, err := f.root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return err
	}
	_, err = file.Write(data)
	if err == nil {
		err = file.Chmod(perm)
	}
	if err == nil {
		err = file.Sync()
	}
	return errors.Join(err, file.Close())
}

func ignoreMissing(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// lock keeps other writers of this process and, where the system can, of other
// processes out until the returned function is called.
func (f *Folder) lock() (func(), error) {
	f.mu.Lock()
	dir, err := f.root.Open(".")
	if err != nil {
		f.mu.Unlock()
		return nil, &Error{Msg: "lock the build folder", Err: err}
	}
	if err := lockFile(dir); err != nil {
		f.mu.Unlock()
		return nil, errors.Join(&Error{Msg: "lock the build folder", Err: err}, dir.Close())
	}
	return func() {
		dir.Close() // releases the lock
		f.mu.Unlock()
	}, nil
}

// Append adds one line to a journal and flushes it. The line has no line break
// in it. What a crash left of an earlier line is closed off first, and a line
// that can't be written whole is taken back.
func (f *Folder) Append(name string, line []byte) error {
	if err := check(name); err != nil {
		return err
	}
	for _, b := range line {
		if b == '\n' || b == '\r' {
			return &Error{Msg: "a line for " + name + " has a line break in it"}
		}
	}
	unlock, err := f.lock()
	if err != nil {
		return err
	}
	defer unlock()
	return explain("append to", name, f.appendLine(name, line))
}

func (f *Folder) appendLine(name string, line []byte) error {
	if _, err := f.permission(name); err != nil {
		return err
	}
	if dir := path.Dir(name); dir != "." {
		if err := f.root.MkdirAll(dir, 0o755); err != nil {
			return err
		}
	}
	file, err := f.root.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return err
	}
	err = addLine(file, line)
	if err = errors.Join(err, file.Close()); err != nil {
		return err
	}
	return f.flush(path.Dir(name))
}

func addLine(file *os.File, line []byte) error {
	info, err := file.Stat()
	if err != nil {
		return err
	}
	size := info.Size()
	text := append(append([]byte(nil), line...), '\n')
	if size > 0 {
		last := make([]byte, 1)
		if _, err := file.ReadAt(last, size-1); err != nil {
			return err
		}
		if last[0] != '\n' {
			text = append([]byte{'\n'}, text...)
		}
	}
	if _, err := file.Write(text); err != nil {
		return errors.Join(err, file.Truncate(size))
	}
	return file.Sync()
}
