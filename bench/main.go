// Command bench measures fettle's solvers beside general-purpose programs in
// one run and prints the ratios as a block of Markdown for BENCHMARKS.md.
//
// It is a module of its own so that the product takes no dependency from it.
// All times are processor time, not elapsed time, of this process or of the
// child process, so that a busy machine does not spoil the ratios. Start
// reading at main, then networks.go.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"
	"syscall"
)

func main() {
	out := flag.String("o", "", "also write the block to this file")
	flag.Parse()
	if flag.NArg() > 0 {
		fmt.Fprintf(os.Stderr, "bench: %q is one word too many; -h lists the options\n", flag.Arg(0))
		os.Exit(2)
	}
	var b bytes.Buffer
	if err := report(&b); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(2)
	}
	os.Stdout.Write(b.Bytes())
	if *out != "" {
		if err := os.WriteFile(*out, b.Bytes(), 0o644); err != nil {
			fmt.Fprintln(os.Stderr, "bench:", err)
			os.Exit(2)
		}
	}
}

func report(w io.Writer) error {
	fmt.Fprintf(w, "# Benchmarks\n\nPrinted by `cd bench && go run . -o ../BENCHMARKS.md`. Processor time, so that other work on the machine\nleaves the ratios alone. The networks are invented.\n\n")
	fmt.Fprintf(w, "Machine: %s, %d cores, %s/%s, %s; ngspice from the distribution.\n\n", processor(), runtime.NumCPU(), runtime.GOOS, runtime.GOARCH, runtime.Version())
	if err := networks(w); err != nil {
		return err
	}
	if err := vehicles(w); err != nil {
		return err
	}
	if err := engines(w); err != nil {
		return err
	}
	if err := edits(w); err != nil {
		return err
	}
	return drives(w)
}

// processor is the processor's name as the kernel tells it.
func processor() string {
	text, _ := os.ReadFile("/proc/cpuinfo")
	for line := range strings.Lines(string(text)) {
		if key, value, ok := strings.Cut(line, ":"); ok && strings.TrimSpace(key) == "model name" {
			return strings.TrimSpace(value)
		}
	}
	return "unknown processor"
}

// usedS is the processor time this process has used.
func usedS() float64 {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		return 0
	}
	return float64(r.Utime.Nano()+r.Stime.Nano()) / 1e9
}

// meanS is the mean processor time of one call, over at least half a second:
// the least of three rounds.
func meanS(one func()) float64 {
	best := 0.0
	one()
	for round := range 3 {
		count, from := 0, usedS()
		spent := 0.0
		for spent < 0.5 {
			one()
			count++
			if count&15 == 0 || count < 16 {
				spent = usedS() - from
			}
		}
		if s := spent / float64(count); round == 0 || s < best {
			best = s
		}
	}
	return best
}
