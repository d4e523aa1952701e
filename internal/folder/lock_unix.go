//go:build unix && !solaris && !illumos && !aix

package folder

import (
	"errors"
	"os"
	"syscall"
)

// lockFile waits for an exclusive lock that ends when the file is closed. A
// file system without locks is used without.
func lockFile(f *os.File) error {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX)
		switch {
		case errors.Is(err, syscall.EINTR):
			continue
		case errors.Is(err, syscall.ENOTSUP), errors.Is(err, syscall.ENOSYS), errors.Is(err, syscall.ENOLCK), errors.Is(err, syscall.EBADF):
			return nil
		}
		return err
	}
}

// flush makes a rename last through a power cut.
func (f *Folder) flush(dir string) error {
	d, err := f.root.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
		err = nil // a file system that does not flush folders
	}
	return errors.Join(err, d.Close())
}
