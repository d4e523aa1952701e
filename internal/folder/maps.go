package folder

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strconv"
	"strings"
)

// Index is the journal of table revisions.
const Index = "maps/history/index.jsonl"

// Author says who made a revision of a table.
type Author string

// The authors. What fettle computed it may replace; what a hand changed, on a
// page or with an editor, it may not.
const (
	Computed Author = "fettle"
	Hand     Author = "hand"
)

// Revision is one line of the journal of table revisions, written before the
// table itself.
type Revision struct {
	Map    string `json:"map"`
	N      int    `json:"n"` // counts the revisions of this table from 1
	By     Author `json:"by"`
	Reason string `json:"reason"`
	Stamp  Stamp  `json:"sha256"`         // of the new content
	File   string `json:"file"`           // where it was written
	Kept   string `json:"kept,omitempty"` // where the earlier content is
}

// MapResult says what WriteMap or EditMap did.
type MapResult struct {
	File     string // the file that has the content now
	Kept     string // where the earlier content went; "" when there was none
	Same     bool   // the content was there already, nothing was written
	Proposed bool   // the table was changed by hand, so File is a proposal beside it
	Stamp    Stamp
}

var mapName = regexp.MustCompile(`^[a-z0-9][a-z0-9_-]{0,60}$`)

func mapFile(name string) string { return "maps/" + name + ".csv" }

// WriteMap writes a computed table to maps/NAME.csv. Content there that fettle
// computed itself goes to maps/history/NAME-n.csv, with the reason in the
// journal. Content that a hand changed stays: the table goes to
// maps/NAME.proposed.csv and the result says so.
func (f *Folder) WriteMap(name string, data []byte, reason string) (MapResult, error) {
	return f.writeMap(name, reason, func(revs []Revision) (MapResult, error) {
		found, err := f.Stamp(mapFile(name))
		switch {
		case err != nil:
			return MapResult{}, err
		case found == StampOf(data):
			return MapResult{File: mapFile(name), Same: true, Stamp: found}, nil
		case found == "" || computed(revs, name, found):
			return f.revise(revs, Revision{Map: name, By: Computed, Reason: reason}, data)
		}
		return f.propose(revs, name, data, reason)
	})
}

// EditMap writes a table that a hand changed on a page; the earlier content
// goes to the history. Expect is the stamp last seen; a table changed meanwhile
// is left alone, as by [Folder.Save].
func (f *Folder) EditMap(name string, data []byte, reason string, expect Stamp) (MapResult, error) {
	return f.writeMap(name, reason, func(revs []Revision) (MapResult, error) {
		found, err := f.Stamp(mapFile(name))
		switch {
		case err != nil:
			return MapResult{}, err
		case found == StampOf(data):
			return MapResult{File: mapFile(name), Same: true, Stamp: found}, nil
		case found != expect:
			kept, err := f.keep(mapFile(name), data)
			if err != nil {
				return MapResult{}, err
			}
			return MapResult{}, &Changed{Name: mapFile(name), Expected: expect, Found: found, KeptAs: kept}
		}
		return f.revise(revs, Revision{Map: name, By: Hand, Reason: reason}, data)
	})
}

func (f *Folder) writeMap(name, reason string, act func([]Revision) (MapResult, error)) (MapResult, error) {
	if !mapName.MatchString(name) {
		return MapResult{}, &Error{Msg: fmt.Sprintf("%q is no name for a table", name), Hint: "use small letters, digits, - and _"}
	}
	if strings.TrimSpace(reason) == "" {
		return MapResult{}, &Error{Msg: "a revision of table " + name + " has no reason"}
	}
	unlock, err := f.lock()
	if err != nil {
		return MapResult{}, err
	}
	defer unlock()
	revs, err := f.Revisions()
	if err != nil {
		return MapResult{}, err
	}
	return act(revs)
}

// revise keeps what is there, notes the revision and replaces the table. A
// crash between two steps loses nothing and is mended by the next revision.
func (f *Folder) revise(revs []Revision, r Revision, data []byte) (MapResult, error) {
	file := mapFile(r.Map)
	old, err := f.read(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return MapResult{}, explain("read", file, err)
	}
	if err == nil {
		if r.Kept, err = f.retire(r.Map, old); err != nil {
			return MapResult{}, err
		}
	}
	r.N, r.File, r.Stamp = count(revs, r.Map)+1, file, StampOf(data)
	if err := f.note(r); err != nil {
		return MapResult{}, err
	}
	if err := f.replace(file, data); err != nil {
		return MapResult{}, explain("write", file, err)
	}
	return MapResult{File: file, Kept: r.Kept, Stamp: r.Stamp}, nil
}

// retire copies content into the history under the first free number, or finds
// it there as the latest.
func (f *Folder) retire(name string, old []byte) (string, error) {
	last := ""
	for n := 1; ; n++ {
		file := "maps/history/" + name + "-" + strconv.Itoa(n) + ".csv"
		found, err := f.Stamp(file)
		if err != nil {
			return "", err
		}
		if found != "" {
			last = ""
			if found == StampOf(old) {
				last = file
			}
			continue
		}
		if last != "" {
			return last, nil
		}
		return file, explain("write", file, f.replace(file, old))
	}
}

// propose writes a table beside the one that a hand changed.
func (f *Folder) propose(revs []Revision, name string, data []byte, reason string) (MapResult, error) {
	for n := 1; ; n++ {
		file := "maps/" + name + ".proposed.csv"
		if n > 1 {
			file = "maps/" + name + ".proposed-" + strconv.Itoa(n) + ".csv"
		}
		found, err := f.Stamp(file)
		switch {
		case err != nil:
			return MapResult{}, err
		case found == StampOf(data):
			return MapResult{File: file, Proposed: true, Same: true, Stamp: found}, nil
		case found != "" && !computed(revs, name, found):
			continue // a hand changed the proposal as well
		}
		r := Revision{Map: name, N: count(revs, name) + 1, By: Computed, Reason: reason, Stamp: StampOf(data), File: file}
		if err := f.note(r); err != nil {
			return MapResult{}, err
		}
		if err := f.replace(file, data); err != nil {
			return MapResult{}, explain("write", file, err)
		}
		return MapResult{File: file, Proposed: true, Stamp: r.Stamp}, nil
	}
}

func (f *Folder) note(r Revision) error {
	line, err := json.Marshal(r)
	if err != nil {
		return fmt.Errorf("note revision of table %s: %w", r.Map, err)
	}
	return explain("append to", Index, f.appendLine(Index, line))
}

// Revisions reads the journal of table revisions, oldest first. A line that a
// crash tore is passed over: its table was not written.
func (f *Folder) Revisions() ([]Revision, error) {
	data, err := f.read(Index)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, explain("read", Index, err)
	}
	var out []Revision
	for line := range strings.Lines(string(data)) {
		var r Revision
		if json.Unmarshal([]byte(line), &r) == nil && r.Map != "" {
			out = append(out, r)
		}
	}
	return out, nil
}

// computed reports whether fettle computed this content of the table; a hand
// that made the same content since has claimed it.
func computed(revs []Revision, name string, s Stamp) bool {
	by := Author("")
	for _, r := range revs {
		if r.Map == name && r.Stamp == s {
			by = r.By
		}
	}
	return by == Computed
}

func count(revs []Revision, name string) int {
	n := 0
	for _, r := range revs {
		if r.Map == name {
			n++
		}
	}
	return n
}
