package web

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/folder"
)

// lineDiff lists the lines that two texts do not share, in order.
func lineDiff(before, after string) (gone, come []string) {
	a, b := strings.Split(before, "\n"), strings.Split(after, "\n")
	count := map[string]int{}
	for _, l := range a {
		count[l]++
	}
	for _, l := range b {
		if count[l]--; count[l] < 0 {
			come = append(come, l)
		}
	}
	count = map[string]int{}
	for _, l := range b {
		count[l]++
	}
	for _, l := range a {
		if count[l]--; count[l] < 0 {
			gone = append(gone, l)
		}
	}
	return gone, come
}

func TestEditKeepsTheRest(t *testing.T) {
	b := newBench(t)
	before := b.file()
	form := url.Values{"path": {"loom/wires/fuel%20pump%201/size"}, "text": {"2.5 mm²"}, "what": {"wire 204"}}
	res, _ := b.edit(form, nil)
	if res.StatusCode != http.StatusSeeOther || !strings.HasPrefix(res.Header.Get("Location"), "/power?state=full#set-") {
		t.Fatalf("%s, to %q", res.Status, res.Header.Get("Location"))
	}
	gone, come := lineDiff(before, b.file())
	if len(gone) != 1 || len(come) != 1 || strings.Replace(gone[0], "0.5 mm²", "2.5 mm²", 1) != come[0] {
		t.Errorf("the edit changed\n%q\nto\n%q", gone, come)
	}
	page := b.get("/power?state=full")
	if !strings.Contains(page, `value="2.5 mm²"`) || !strings.Contains(page, ">wire 204 to 2.5 mm²</button>") {
		t.Error("the page shows neither the value nor the step")
	}
}

func TestRefusedEditSavesNothing(t *testing.T) {
	b := newBench(t)
	before := b.file()
	for _, c := range []struct{ name, path, text, want string }{
		{"no unit", "loom/wires/fuel%20pump%201/size", "2.5", "unit"},
		{"wrong unit", "loom/wires/fuel%20pump%201/size", "2.5 V", "2.5 V"},
		{"too large", "loom/wires/fuel%20pump%201/size", "2500 mm²", "120 mm²"},
		{"not a word of the list", "loom/feeds/switched/from", "16", "16"},
		{"no such key", "engine/colour", "red", "colour"},
		{"a path to a mapping", "loom/wires", "x", "mapping"},
		{"no path", "", "x", "no place"},
		{"broken path", "%zz", "x", "no place"},
	} {
		res, text := b.edit(url.Values{"path": {c.path}, "text": {c.text}}, map[string]string{partHeader: "yes"})
		if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(text, c.want) || !strings.Contains(text, `id="part"`) {
			t.Errorf("%s: %s, lacks %q", c.name, res.Status, c.want)
		}
		if c.path == "loom/wires/fuel%20pump%201/size" && (!strings.Contains(text, `aria-invalid="true"`) || !strings.Contains(text, `value="`+c.text+`"`)) {
			t.Errorf("%s: the message does not stand at its field", c.name)
		}
	}
	if b.file() != before {
		t.Error("a refused edit was saved")
	}
}

func TestChangedOnDiskLosesNeither(t *testing.T) {
	b := newBench(t)
	seen := b.file()
	b.get("/power")
	theirs := strings.Replace(seen, "name: Camper", "name: My camper", 1)
	if err := os.WriteFile(filepath.Join(b.dir, folder.Main), []byte(theirs), 0o644); err != nil {
		t.Fatal(err)
	}
	q := url.Values{"page": {"power"}, "seen": {string(folder.StampOf([]byte(seen)))}}
	res, text := b.do("POST", "/edit?"+q.Encode(), url.Values{"path": {"loom/feeds/switched/from"}, "text": {"15"}}, nil)
	if res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(text, "build.yaml was changed on disk meanwhile") || !strings.Contains(text, "build.yaml.yours-1") {
		t.Errorf("%s\n%.2000s", res.Status, text)
	}
	if b.file() != theirs {
		t.Error("the other hand's version was lost")
	}
	kept, err := os.ReadFile(filepath.Join(b.dir, "build.yaml.yours-1"))
	if err != nil || !strings.Contains(string(kept), "from: 15") || strings.Contains(string(kept), "name: My camper") {
		_, come := lineDiff(seen, string(kept))
		t.Errorf("the page's version was lost: %v, %q", err, come)
	}
}

func TestStepsBackAndForth(t *testing.T) {
	b := newBench(t)
	first := b.file()
	must := func(res *http.Response, _ string) {
		t.Helper()
		if res.StatusCode != http.StatusSeeOther {
			t.Fatal(res.Status)
		}
	}
	step := func(form url.Values) (*http.Response, string) {
		q := url.Values{"page": {"power"}, "seen": {string(folder.StampOf([]byte(b.file())))}}
		return b.do("POST", "/steps?"+q.Encode(), form, nil)
	}
	must(b.edit(url.Values{"path": {"loom/feeds/switched/from"}, "text": {"15"}, "what": {"feed switched from"}}, nil))
	second := b.file()
	must(b.edit(url.Values{"path": {"devices/alternator/part"}, "text": {"alternator 120 A"}, "what": {"alternator"}}, nil))
	third := b.file()
	for _, c := range []struct {
		form url.Values
		want string
	}{
		{url.Values{"go": {"undo"}}, second},
		{url.Values{"go": {"undo"}}, first},
		{url.Values{"go": {"redo"}}, second},
		{url.Values{"to": {"2"}}, third},
		{url.Values{"to": {"0"}}, first},
	} {
		must(step(c.form))
		if b.file() != c.want {
			t.Fatalf("%v led elsewhere", c.form)
		}
	}
	if res, text := step(url.Values{"go": {"undo"}}); res.StatusCode != 422 || !strings.Contains(text, "no such step") {
		t.Errorf("before the first: %s", res.Status)
	}
	must(step(url.Values{"go": {"redo"}}))
	must(b.edit(url.Values{"path": {"loom/grounds/sensor/joins"}, "text": {"controller"}}, nil))
	page := b.get("/power")
	if strings.Contains(page, "alternator to alternator 120 A") && strings.Contains(page, `name="to" value="3"`) {
		t.Error("a step that was undone and overtaken is still listed")
	}
	if err := os.WriteFile(filepath.Join(b.dir, folder.Main), []byte(first+"\n# mine\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if page := b.get("/power"); strings.Contains(page, `id="undo"`) {
		t.Error("another hand's version can be undone")
	}
}

// TestMendsEndTheirFindings makes the first mend of each finding, one after the
// other, as the buttons do.
func TestMendsEndTheirFindings(t *testing.T) {
	b := newBench(t)
	b.get("/")
	for range 12 {
		cur, err := b.s.current(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if len(cur.Findings) == 0 {
			break
		}
		f := cur.Findings[0]
		if len(f.Mends) == 0 {
			t.Fatalf("no mend for %s: %v", f.Rule, f.Msg)
		}
		res, text := b.edit(url.Values{"rule": {f.Rule}, "subject": {f.Subject}, "mend": {"0"}}, map[string]string{partHeader: "yes"})
		if res.StatusCode != 200 || strings.Contains(text, `id="finding-`+f.Rule) {
			t.Fatalf("%s: %s; the finding still stands: %v", f.Rule, res.Status, strings.Contains(text, `id="finding-`+f.Rule))
		}
	}
	if page := b.get("/"); !strings.Contains(page, "Nothing that was computed stands in the way.") {
		t.Error("something stands in the way after all mends")
	}
	if res, _ := b.edit(url.Values{"rule": {"wire-drop"}, "subject": {"gone"}, "mend": {"0"}}, nil); res.StatusCode != 422 {
		t.Errorf("a mend of what is gone: %s", res.Status)
	}
}

// TestUnreadableFile: the page names every error with its place, and comes back
// when the file is mended.
func TestUnreadableFile(t *testing.T) {
	b := newBench(t)
	good := b.file()
	bad := strings.Replace(good, "firing order: 1-2-4-5-3", "firing order: 1-2-4-5-5", 1)
	if err := os.WriteFile(filepath.Join(b.dir, folder.Main), []byte(bad), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/", "/power", "/why/full/battery/VoltageV"} {
		page := b.get(path)
		if !strings.Contains(page, "can’t be used as it is") || !strings.Contains(page, "build.yaml:") || !strings.Contains(page, "^") {
			t.Errorf("%s does not show the errors", path)
		}
	}
	if err := os.WriteFile(filepath.Join(b.dir, folder.Main), []byte(good), 0o644); err != nil {
		t.Fatal(err)
	}
	if page := b.get("/"); strings.Contains(page, "can’t be used") {
		t.Error("the errors stay")
	}
	if err := os.Remove(filepath.Join(b.dir, folder.Main)); err != nil {
		t.Fatal(err)
	}
	if res, text := b.do("GET", "/", nil, nil); res.StatusCode != 500 || !strings.Contains(text, "build.yaml") {
		t.Errorf("without its file: %s", res.Status)
	}
}
