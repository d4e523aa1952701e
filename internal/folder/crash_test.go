//go:build linux

package folder_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
	"time"

	"fettle/internal/folder"
)

// The test program runs itself as the process that is killed or short of disk.
func TestMain(m *testing.M) {
	switch dir := os.Getenv("FOLDER_TEST_DIR"); os.Getenv("FOLDER_TEST_ROLE") {
	case "writer":
		writeForever(dir)
	case "short":
		writeShort(dir)
	default:
		os.Exit(m.Run())
	}
}

func role(t *testing.T, name, dir string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "FOLDER_TEST_ROLE="+name, "FOLDER_TEST_DIR="+dir)
	return cmd
}

const size = 8 << 20 // long enough for a kill to fall into the writing

func content(i int) []byte { return bytes.Repeat([]byte{byte('a' + i%26)}, size) }

func writeForever(dir string) {
	f, err := folder.Open(dir)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for i := 0; ; i++ {
		_, seen, err := f.Read("build.yaml")
		if err == nil {
			_, err = f.Save("build.yaml", content(i), seen)
		}
		if err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
	}
}

// halfWritten waits until some file in the folder is shorter than a whole
// version: the writer is in the middle of one.
func halfWritten(dir string) bool {
	for end := time.Now().Add(3 * time.Second); time.Now().Before(end); {
		entries, err := os.ReadDir(dir)
		if err != nil {
			return false
		}
		whole := 0
		for _, e := range entries {
			if info, err := e.Info(); err == nil && info.Size() == size {
				whole++
			}
		}
		if whole < len(entries) || whole == 0 {
			return true
		}
	}
	return false
}

// TestKilledWriter kills a process that saves all the time while it is in the
// middle of writing: the file holds one whole version each time.
func TestKilledWriter(t *testing.T) {
	for i := range 4 {
		f := newFolder(t, map[string]string{"build.yaml": string(content(0))})
		cmd := role(t, "writer", f.Dir())
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if !halfWritten(f.Dir()) {
			t.Errorf("kill %d did not fall into the writing", i)
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		if err := cmd.Wait(); err == nil {
			t.Fatal("the writer ended by itself")
		}
		data, seen, err := f.Read("build.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if len(data) != size || bytes.Count(data, data[:1]) != len(data) {
			t.Fatalf("after kill %d the file is no whole version: %d bytes", i, len(data))
		}
		if _, err := f.Save("build.yaml", content(25), seen); err != nil {
			t.Fatalf("after kill %d: %v", i, err)
		}
		if names, err := f.List("."); err != nil || len(names) != 1 {
			t.Fatalf("after kill %d the folder lists %v, %v", i, names, err)
		}
	}
}

func writeShort(dir string) {
	signal.Ignore(syscall.SIGXFSZ)
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 4096, Max: 4096}); err != nil {
		fmt.Println("no limit:", err)
		os.Exit(1)
	}
	f, err := folder.Open(dir)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	_, seen, _ := f.Read("build.yaml")
	_, err = f.Save("build.yaml", content(3), seen)
	fmt.Println("save:", err)
	fmt.Println("append:", f.Append("bringup.jsonl", content(4)))
	_, err = f.WriteMap("ve", content(5), "too long")
	fmt.Println("map:", err)
}

// TestDiskFull lets the system refuse to write past 4096 bytes, as a full disk
// does in the middle of a file: the old files stand whole, nothing is left over.
func TestDiskFull(t *testing.T) {
	f := newFolder(t, map[string]string{"bringup.jsonl": "{}\n"})
	if _, err := f.WriteMap("ve", []byte("one\n"), "first"); err != nil {
		t.Fatal(err)
	}
	out, err := role(t, "short", f.Dir()).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, want := range []string{"save: save build.yaml: file too large", "append: append to bringup.jsonl: file too large", "map: write maps/ve.csv: file too large"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("no %q in %s", want, out)
		}
	}
	for name, want := range map[string]string{"build.yaml": "name: a van\n", "bringup.jsonl": "{}\n", "maps/ve.csv": "one\n"} {
		if got := get(t, f, name); got != want {
			t.Errorf("%s holds %d bytes, want %q", name, len(got), want)
		}
	}
	noLeftovers(t, f.Dir())
}
