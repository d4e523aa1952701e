package fettle_test

import (
	"bytes"
	"go/ast"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// policy: do not edit to fix a build.
func TestPackagesSayWhatTheyAre(t *testing.T) {
	report(t, "a package is a noun of the trade, and its comment says what it computes, its conventions and where to start reading", checkPackages(readTree(t)))
}

// policy: do not edit to fix a build.
func TestFilesStayShort(t *testing.T) {
	report(t, "split a file by subject before it passes 800 lines", checkLength(readTree(t)))
}

var forbiddenNames = []string{"util", "utils", "common", "helper", "helpers", "misc", "model", "models", "types", "constants", "base", "shared", "lib"}

func checkPackages(tr *tree) (misses []string) {
	for _, pkg := range tr.packages() {
		at, name := pkg[0].file.Package, pkg[0].file.Name.Name
		if slices.Contains(forbiddenNames, name) {
			misses = append(misses, tr.miss(at, "package %s is named for nothing: name it for what it computes", name))
		}
		var docs []*ast.CommentGroup
		for _, s := range pkg {
			if s.file.Doc != nil {
				docs = append(docs, s.file.Doc)
			}
		}
		switch {
		case len(docs) == 0:
			misses = append(misses, tr.miss(at, "package %s (%s) has no comment", name, pkg[0].dir()))
		case len(docs) > 1:
			misses = append(misses, tr.miss(docs[1].Pos(), "package %s has a second comment; one file carries it", name))
		default:
			misses = append(misses, packageComment(tr, name, docs[0])...)
		}
	}
	return misses
}

var sentenceEnd = regexp.MustCompile(`[.!?](\s|$)`)

func packageComment(tr *tree, name string, doc *ast.CommentGroup) (misses []string) {
	text := doc.Text()
	if start := "Package " + name + " "; name != "main" && !strings.HasPrefix(text, start) {
		misses = append(misses, tr.miss(doc.Pos(), "the comment of package %s begins otherwise than %q", name, start))
	}
	if name == "main" && !strings.HasPrefix(text, "Command ") {
		misses = append(misses, tr.miss(doc.Pos(), "the comment of a command begins otherwise than %q", "Command "))
	}
	if n := len(sentenceEnd.FindAllString(text, -1)); n < 2 || len(text) < 120 {
		misses = append(misses, tr.miss(doc.Pos(), "the comment of package %s says too little (%d sentences, %d characters)", name, n, len(text)))
	}
	return misses
}

func checkLength(tr *tree) (misses []string) {
	for _, s := range tr.files {
		if n := bytes.Count(s.text, []byte("\n")); n > 800 && !ast.IsGenerated(s.file) {
			misses = append(misses, tr.miss(s.file.Package, "%d lines", n))
		}
	}
	return misses
}
