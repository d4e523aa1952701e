// Command formulas writes the register of formulas, internal/formula, from the
// doc comments of the packages under internal. It only parses, so that a
// package that doesn't compile at the moment still has its formulas listed.
// Start reading at generate.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	root := flag.String("root", ".", "the root of the repository")
	flag.Parse()
	if err := run(*root); err != nil {
		fmt.Fprintln(os.Stderr, "formulas:", err)
		os.Exit(1)
	}
}

func run(root string) error {
	src, warnings, err := generate(root)
	if err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprintln(os.Stderr, "formulas: warning:", w)
	}
	out := filepath.Join(root, "internal", "formula", "formulas_gen.go")
	if old, err := os.ReadFile(out); err == nil && string(old) == string(src) {
		return nil // keep the time stamp, and so the build cache
	}
	return os.WriteFile(out, src, 0o644)
}
