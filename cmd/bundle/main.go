// Command bundle builds the assets of the pages: it reads internal/web/src and
// writes app.js and app.css to internal/web/dist, from where they are embedded
// into fettle. It needs no Node and no network; types are checked apart, by
// tsc --noEmit in make test. The same sources give the same bytes.
//
// Start reading at bundle.
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
	web := filepath.Join(*root, "internal", "web")
	report, err := bundle(filepath.Join(web, "src"), filepath.Join(web, "dist"))
	for _, line := range report {
		fmt.Println(line)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
