package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestFirstFireOnThePage: what closes the first firing is told on Overview and Maps,
// a value that was found is stated and said to be verified there, and what nobody
// stated is not taken as verified.
func TestFirstFireOnThePage(t *testing.T) {
	b := newBench(t)
	if page := b.get("/"); !strings.Contains(page, "First fire is closed: 12 of 12 values wait") {
		t.Error("Overview does not tell that the first fire is closed")
	}
	if page := b.get("/maps"); !strings.Contains(page, "First fire is closed: 12 of 12 values wait") || !strings.Contains(page, `data-path="verified/trigger%20offset"`) {
		t.Error("Maps does not tell that the first fire is closed, or gives no way to open it")
	}
	if csv := b.get("/maps/settings.csv"); !strings.HasPrefix(csv, "group,setting,value,unit,") || strings.Count(csv, "closed until verified") != 12 {
		t.Errorf("the settings' file reads %.200s", csv)
	}
	before := b.file()
	set := func(path, text string) (*http.Response, string) {
		return b.edit(url.Values{"path": {path}, "text": {text}}, nil)
	}
	if res, text := set("verified/trigger%20offset", "yes"); res.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(text, "is stated nowhere") || b.file() != before {
		t.Errorf("an offset that nobody stated is taken as verified: %s", res.Status)
	}
	for _, e := range [][2]string{{"trigger/offset", "84°"}, {"verified/trigger%20offset", "yes"}, {"verified/firing%20order", "yes"}} {
		if res, text := set(e[0], e[1]); res.StatusCode != http.StatusSeeOther {
			t.Fatalf("%s: %s %.300s", e[0], res.Status, text)
		}
	}
	if page := b.get("/"); !strings.Contains(page, "First fire is closed: 10 of 12 values wait") {
		t.Error("two verified values are not counted")
	}
	if res, _ := set("verified/trigger%20offset", ""); res.StatusCode != http.StatusSeeOther {
		t.Fatal(res.Status)
	}
	if page := b.get("/"); !strings.Contains(page, "First fire is closed: 11 of 12 values wait") {
		t.Error("a verification that was taken back is still counted")
	}
}
