// Command studies runs the long studies in full and writes their figures to
// STUDIES.md, with the date and the machine.
//
// Each study is a test or a fuzz target of the product run at its full size;
// the tests run a thinned version of each. Conventions: a study that fails says
// so in the file and ends the command with 1. With -minutes the fuzzing is
// shorter, with -only one study is run. Start reading at [studies].
package main

import (
	"bufio"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"time"
)

// study is one long run and what of its output is kept.
type study struct {
	title string
	args  []string
	keep  *regexp.Regexp
}

var studies = []study{
	{"Fuzzing the build-file reader", fuzz("./internal/buildfile", "FuzzParse"), lastExecs},
	{"Fuzzing edits of build files", fuzz("./internal/buildfile", "FuzzApply"), lastExecs},
	{"Fuzzing the quantity parser", fuzz("./internal/quantity", "FuzzParse"), lastExecs},
	{"Fuzzing the table reader", fuzz("./internal/table", "FuzzRead"), lastExecs},
	{"200 invented engines started at -10, 20 and 60 °C", rehearse("TestStarts"), rehearsed},
	{"200 invented engines on a brake: load cap, lambda and knock before and after learning", rehearse("TestLoad"), rehearsed},
	{"300 random networks against ngspice", []string{"test", "./internal/dcnet", "-run", "Spice", "-count=1", "-v"}, regexp.MustCompile(`(?i)networks.*|worst.*|^(ok|FAIL).*`)},
}

var lastExecs = regexp.MustCompile(`^fuzz: elapsed.*|^PASS.*|^FAIL.*|^--- FAIL.*`)

// rehearsed keeps what failed as well as what was counted.
var rehearsed = regexp.MustCompile(`_test\.go:.*|^(ok|FAIL|---).*`)

func rehearse(test string) []string {
	return []string{"test", "./internal/rehearsal", "-run", test, "-count=1", "-v", "-timeout", "60m", "-args", "-full"}
}

func fuzz(pkg, target string) []string {
	return []string{"test", pkg, "-run", "^$", "-fuzz", "^" + target + "$", "-fuzztime", fullMinutes}
}

// fullMinutes stands in a study's arguments for how long it is fuzzed.
const fullMinutes = "5m"

func main() {
	minutes := flag.Float64("minutes", 5, "fuzz each target for so many minutes")
	only := flag.String("only", "", "run the studies whose title has this in it")
	out := flag.String("o", "STUDIES.md", "the file to write")
	flag.Parse()
	chosen, err := choose(*minutes, *only, flag.Args())
	if err != nil {
		fmt.Fprintln(os.Stderr, "studies:", err)
		os.Exit(2)
	}
	os.Exit(write(chosen, *out))
}

// choose is the studies that are wanted, or why there are none.
func choose(minutes float64, only string, rest []string) ([]study, error) {
	if _, err := os.Stat("cmd/studies/main.go"); err != nil {
		return nil, errors.New("cmd/studies is not here; run it at the top of the source tree")
	}
	if len(rest) > 0 {
		return nil, fmt.Errorf("%q is one word too many; -h lists the options", rest[0])
	}
	if !(minutes >= 0.05 && minutes <= 600) {
		return nil, fmt.Errorf("-minutes %g is outside 0.05 … 600", minutes)
	}
	var chosen []study
	var titles []string
	for _, s := range studies {
		titles = append(titles, s.title)
		if !strings.Contains(strings.ToLower(s.title), strings.ToLower(only)) {
			continue
		}
		s.args = slices.Clone(s.args)
		if i := slices.Index(s.args, fullMinutes); i >= 0 {
			s.args[i] = fmt.Sprintf("%gs", minutes*60)
			s.title += fmt.Sprintf(", %g minutes", minutes)
		}
		chosen = append(chosen, s)
	}
	if len(chosen) == 0 {
		return nil, fmt.Errorf("no study has %q in its title; the titles are:\n  %s", only, strings.Join(titles, "\n  "))
	}
	return chosen, nil
}

func write(studies []study, file string) (exit int) {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# Studies\n\nWritten by `make studies` on %s; %s, %d cores, %s.\n", time.Now().Format("2006-01-02"), processor(), runtime.NumCPU(), runtime.Version())
	failed := false
	for _, s := range studies {
		fmt.Fprintln(os.Stderr, s.title)
		start := time.Now()
		out, err := exec.Command("go", s.args...).CombinedOutput()
		failed = failed || err != nil
		if len(out) == 0 && err != nil {
			out = fmt.Appendf(nil, "FAIL %v\n", err)
		}
		fmt.Fprintf(&b, "\n## %s\n\n`go %s`, %.0f s\n\n```\n%s```\n", s.title, strings.Join(s.args, " "), time.Since(start).Seconds(), kept(out, s.keep))
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		fmt.Fprintln(os.Stderr, "studies:", err)
		return 2
	}
	if failed {
		fmt.Fprintf(os.Stderr, "studies: at least one failed; %s says which\n", file)
		return 1
	}
	return 0
}

// mostLines of a fuzz target's progress are kept.
const mostLines = 6

// kept is the last lines of an output that say how it ended.
func kept(out []byte, keep *regexp.Regexp) string {
	var lines []string
	for sc := bufio.NewScanner(bytes.NewReader(out)); sc.Scan(); {
		if keep.MatchString(sc.Text()) {
			lines = append(lines, sc.Text())
		}
	}
	if len(lines) > mostLines && keep == lastExecs {
		lines = lines[len(lines)-mostLines:]
	}
	return strings.Join(lines, "\n") + "\n"
}

func processor() string {
	src, err := os.ReadFile("/proc/cpuinfo")
	if err != nil {
		return runtime.GOARCH
	}
	for line := range strings.SplitSeq(string(src), "\n") {
		if name, ok := strings.CutPrefix(line, "model name"); ok {
			return strings.TrimSpace(strings.TrimLeft(name, "\t :"))
		}
	}
	return runtime.GOARCH
}
