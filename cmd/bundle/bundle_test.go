package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestBundle(t *testing.T) {
	src, dist := layOut(t, map[string]string{
		"app.ts":   "import { twice } from './maths.js'\ndocument.title = `${twice(21)} Ω`\n",
		"maths.ts": "export const twice = (x: number): number => 2 * x\n",
		"app.css":  "@import './base.css';\n@font-face { font-family: F; src: url(/assets/font.ttf) }\n",
		"base.css": "body { margin: 0 }\n",
	})
	if report, err := bundle(src, dist); err != nil || len(report) != 2 {
		t.Fatalf("bundle: %q, %v", report, err)
	}
	js, css := read(t, dist, "app.js"), read(t, dist, "app.css")
	for _, want := range []string{"twice", "Ω"} {
		if !strings.Contains(js, want) {
			t.Errorf("app.js lacks %q:\n%s", want, js)
		}
	}
	for _, want := range []string{"margin:0", "/assets/font.ttf"} {
		if !strings.Contains(css, want) {
			t.Errorf("app.css lacks %q:\n%s", want, css)
		}
	}
	if _, err := bundle(src, dist); err != nil {
		t.Fatal(err)
	}
	if again := read(t, dist, "app.js"); again != js {
		t.Error("a second build gave other bytes")
	}
}

func TestBundleNamesThePlaceOfAnError(t *testing.T) {
	src, dist := layOut(t, map[string]string{
		"app.ts":  "const a = 1\nconst = 2\n",
		"app.css": "@import './gone.css';\n",
	})
	_, err := bundle(src, dist)
	if err == nil {
		t.Fatal("no error")
	}
	for _, want := range []string{"app.ts:2:7: ", "app.css:1:9: "} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("error lacks %q: %v", want, err)
		}
	}
}

func TestBundleWithoutPages(t *testing.T) {
	src, dist := layOut(t, nil)
	report, err := bundle(src, dist)
	if err != nil {
		t.Fatal(err)
	}
	if len(report) != 2 || !strings.Contains(report[0], "app.ts is missing") || !strings.Contains(report[1], "app.css is missing") {
		t.Errorf("report %q, want a line for each missing entry", report)
	}
}

func layOut(t *testing.T, files map[string]string) (src, dist string) {
	t.Helper()
	dir := t.TempDir()
	src, dist = filepath.Join(dir, "src"), filepath.Join(dir, "dist")
	if err := os.Mkdir(src, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(src, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return src, dist
}

func read(t *testing.T, dir, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
