package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"fettle/internal/catalogue"
	"fettle/internal/diag"
	"fettle/internal/folder"
	"fettle/internal/questions"
)

type newCmd struct {
	Dir     string            `arg:"" help:"Where to write it; it must not be there yet, or be empty."`
	Set     map[string]string `help:"Answer a question of the sheet, as cylinders=6; --questions lists them." placeholder:"QUESTION=ANSWER"`
	List    bool              `name:"questions" help:"Only list the questions and what they take."`
	NoServe bool              `help:"Only write it."`
	NoOpen  bool              `help:"Serve it without opening a browser."`
	Port    int               `help:"The port to serve on; 0 takes a free one." default:"8321"`
}

// Run begins a build from the question sheet.
func (c *newCmd) Run(e *env) error {
	cat, err := catalogue.Open()
	if err != nil {
		return err
	}
	sheet := questions.Sheet(cat)
	if c.List {
		listQuestions(e, sheet)
		return nil
	}
	a := questions.Defaults(sheet)
	for k, v := range c.Set {
		if _, ok := a[k]; !ok {
			return unknownQuestion(k, sheet)
		}
		a[k] = v
	}
	if a["name"] == "My swap" {
		a["name"] = filepath.Base(filepath.Clean(c.Dir))
	}
	if err := a.Known(sheet); err != nil {
		return err
	}
	answers, err := json.MarshalIndent(a, "", "  ")
	if err != nil {
		return err
	}
	f, err := folder.Create(c.Dir, map[string][]byte{
		"build.yaml": a.Build(cat), questions.File: append(answers, '\n'), ".gitignore": []byte(questions.Ignore),
	})
	if err != nil {
		return err
	}
	f.Close()
	fmt.Fprintf(e.out, "began a build in %s\n", c.Dir)
	if c.NoServe {
		return nil
	}
	return serveAt(e, c.Dir, c.Port, !c.NoOpen, "questions")
}

func listQuestions(e *env, sheet []questions.Question) {
	for _, g := range questions.Groups {
		fmt.Fprintf(e.out, "%s\n", g)
		for _, q := range sheet {
			if q.Group != g {
				continue
			}
			takes := q.Look
			if len(q.Words) > 0 {
				takes = strings.Join(q.Words, ", ")
			}
			fmt.Fprintf(e.out, "  %-14s %s\n  %14s %s\n", q.Key, q.Ask, "", takes)
		}
	}
}

func unknownQuestion(key string, sheet []questions.Question) error {
	keys := make([]string, len(sheet))
	for i, q := range sheet {
		keys[i] = q.Key
	}
	if near, ok := diag.Nearest(key, keys); ok {
		return fmt.Errorf("there is no question %q; did you mean %q?", key, near)
	}
	return fmt.Errorf("there is no question %q; fettle new --questions DIR lists them", key)
}
