package drawing

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var pictures = flag.String("pictures", "", "write every test drawing as SVG into this folder, to be looked at")

func TestPictures(t *testing.T) {
	if *pictures == "" {
		t.Skip("only with -pictures")
	}
	for name, d := range allPieces() {
		f, err := os.Create(filepath.Join(*pictures, name+".svg"))
		if err != nil {
			t.Fatal(err)
		}
		if err := SVG(f, d, SVGOptions{Alone: true}); err != nil {
			t.Error(err)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}
