package runtest

import (
	"bytes"
	"fmt"
	"maps"
	"regexp"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/run"
)

// Neutral is a build without its names: its devices are called d1, d2 … and
// their parts p1, p2 …, which are parts of its own.
type Neutral struct {
	run.Input
	was map[string]string // "d1" → "battery"
}

// WithoutNames takes the names of a build's devices and parts away.
//
// Errors: the build can't be parsed; a device's part is in no file.
func WithoutNames(in run.Input) (*Neutral, error) {
	tree, ds := buildfile.Parse(in.File, in.Src)
	if len(ds) > 0 {
		return nil, fmt.Errorf("parse %s: %v", in.File, ds[0])
	}
	r := &renamer{lines: strings.Split(string(in.Src), "\n"), device: map[string]string{}, out: &Neutral{was: map[string]string{}}}
	r.out.Input = run.Input{File: in.File, Parts: maps.Clone(in.Parts)}
	if r.out.Parts == nil {
		r.out.Parts = map[string][]byte{}
	}
	if err := r.devices(tree, in); err != nil {
		return nil, err
	}
	r.references(tree)
	r.out.Src = []byte(strings.Join(r.lines, "\n"))
	return r.out, nil
}

var neutralName = regexp.MustCompile(`\b[dp]\d+\b`)

// Was puts the names back into a text.
func (n *Neutral) Was(text string) string {
	return neutralName.ReplaceAllStringFunc(text, func(s string) string {
		if old := n.was[s]; old != "" {
			return old
		}
		return s
	})
}

type renamer struct {
	lines  []string
	device map[string]string // "battery" → "d1"
	out    *Neutral
}

// put writes a name over the one that a value or its key begins with. What
// stands further right in a line is to be put first.
func (r *renamer) put(n *buildfile.Node, key bool, old, now string) {
	pos := n.Pos
	if key {
		pos = n.KeyPos
	}
	text := []rune(r.lines[pos.Line-1])
	if at := string(text[pos.Col-1:]); strings.HasPrefix(at, old) {
		r.lines[pos.Line-1] = string(text[:pos.Col-1]) + now + at[len(old):]
	}
}

func (r *renamer) devices(tree *buildfile.Tree, in run.Input) error {
	parts := map[string]string{}
	for i, n := range tree.Find("devices").Items {
		part := n.Get("part").Text
		if parts[part] == "" {
			now := fmt.Sprintf("p%d", len(parts)+1)
			src, err := renamedPart(in, part, now)
			if err != nil {
				return err
			}
			parts[part], r.out.was[now] = now, part
			r.out.Parts["parts/"+now+".yaml"] = src
		}
		r.put(n.Get("part"), false, part, parts[part])
		now := fmt.Sprintf("d%d", i+1)
		r.device[n.Key], r.out.was[now] = now, n.Key
		r.put(n, true, n.Key, now)
	}
	return nil
}

// renamedPart is a part's file with another name in it.
func renamedPart(in run.Input, name, now string) ([]byte, error) {
	find, put := []byte("part: "+name+"\n"), []byte("part: "+now+"\n")
	for _, src := range in.Parts {
		if bytes.Contains(src, find) {
			return bytes.Replace(src, find, put, 1), nil
		}
	}
	src, err := catalogue.PartFile(name)
	if err != nil {
		return nil, err
	}
	return bytes.Replace(src, find, put, 1), nil
}

// references puts the names where the build refers to devices.
func (r *renamer) references(tree *buildfile.Tree) {
	for _, section := range [][]string{{"loom", "wires"}, {"loom", "pins"}, {"loom", "screens"}, {"loose leads"}} {
		list := tree.Find(section...)
		if list == nil {
			continue
		}
		for _, n := range list.Items {
			for _, key := range []string{"pin", "to"} {
				if v := n.Get(key); v != nil {
					r.refer(v, false, v.Text)
				}
			}
			if section[0] == "loom" {
				r.refer(n, true, n.Key)
			}
		}
	}
}

func (r *renamer) refer(n *buildfile.Node, key bool, text string) {
	if strings.HasSuffix(text, " cable") {
		return // "starter cable" is the wire's own name
	}
	longest := ""
	for old := range r.device {
		if (text == old || strings.HasPrefix(text, old+" ")) && len(old) > len(longest) {
			longest = old
		}
	}
	if longest != "" {
		r.put(n, key, longest, r.device[longest])
	}
}
