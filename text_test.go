package fettle_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// policy: do not edit to fix a build.
func TestTextIsClean(t *testing.T) {
	var misses []string
	for _, name := range textFiles() {
		text, err := os.ReadFile(filepath.FromSlash(name))
		if err != nil {
			t.Fatal(err)
		}
		misses = append(misses, checkText(name, text)...)
	}
	report(t, "text that must not stand in the repository", misses)
}

// The patterns are written in pieces, so that they don't find themselves.
var unclean = []struct {
	what string
	find *regexp.Regexp
}{
	{"a path of one machine", regexp.MustCompile(`(?:^|[\s"'` + "`" + `(=:,])(?:/(?:home|Users|root|work|tmp)/\w|[A-Z]:\\Users\\)`)},
	{"a note to oneself: do it, or file it", regexp.MustCompile(`\b(?:TO` + `DO|FIX` + `ME|XX` + `X|HA` + `CK)\b`)},
	{"a mark of an unfinished merge", regexp.MustCompile(`^(?:<{7}|>{7}) `)},
}

func checkText(name string, text []byte) (misses []string) {
	if name == "go.sum" || strings.HasSuffix(name, "/go.sum") {
		return nil
	}
	lock := strings.HasSuffix(name, "package-lock.json")
	for i, line := range bytes.Split(text, []byte("\n")) {
		if lock {
			if bytes.Contains(line, []byte(`"resolved"`)) {
				misses = append(misses, fmt.Sprintf("%s:%d: the address of a registry", name, i+1))
			}
			continue // the rest is hashes
		}
		for _, u := range unclean {
			if m := u.find.Find(line); m != nil {
				misses = append(misses, fmt.Sprintf("%s:%d: %s: %q", name, i+1, u.what, bytes.TrimSpace(m)))
			}
		}
	}
	return misses
}

func TestGofumpt(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the formatter")
	}
	var files []string
	for _, name := range textFiles() {
		if strings.HasSuffix(name, ".go") && !strings.Contains(name, "/testdata/") {
			files = append(files, name)
		}
	}
	cmd := exec.Command("go", append([]string{"tool", "gofumpt", "-l"}, files...)...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Errorf("gofumpt: %v\n%s", err, stderr.Bytes())
	}
	if len(out) > 0 {
		t.Errorf("not formatted: run `make fmt`\n%s", out)
	}
}
