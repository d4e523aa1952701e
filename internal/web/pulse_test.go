package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"fettle/internal/calibrate"
	"fettle/internal/design"
)

// TestPulseOnThePage: the moments of the solved states stand ready, a moment of
// one's own is taken, what is out of range is refused with what is allowed, every
// factor opens to its working, and a table changed by hand moves the pulse.
func TestPulseOnThePage(t *testing.T) {
	b := newBench(t)
	page := b.get("/maps?state=full")
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	now, ok := calibrate.PresentOf(cur.Solved.State(design.Full))
	if !ok {
		t.Fatal("no moment of full power")
	}
	for _, want := range []string{"m-n=5600", "Lambda target", "Injector dead time", "none yet", "/why/pulse/" + now.Key() + "/pulse/WidthS", "#c-"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page has no %q", want)
		}
	}
	links := regexp.MustCompile(`href="(/why/pulse/[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) < 20 {
		t.Fatalf("%d links to workings", len(links))
	}
	for _, l := range links {
		if res, text := b.do("GET", strings.ReplaceAll(l[1], "&amp;", "&"), nil, nil); res.StatusCode != http.StatusOK || !strings.Contains(text, "Comes from") && !strings.Contains(text, "Where it comes from") {
			t.Errorf("%s: %s", l[1], res.Status)
		}
	}
	if res, text := b.do("GET", "/why/maps/ve/3/4", nil, nil); res.StatusCode != http.StatusOK || !strings.Contains(text, "breathing") && !strings.Contains(text, "swept volume") {
		t.Errorf("the working of a cell: %s", res.Status)
	}
	for _, lost := range []string{"/why/pulse/none/pulse/WidthS", "/why/maps/ve/300/4", "/why/pulse/" + now.Key() + "/nothing"} {
		if res, _ := b.do("GET", lost, nil, nil); res.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", lost, res.Status)
		}
	}
	if page := b.get("/maps?m-n=99999&m-p=50"); !strings.Contains(page, "50 … 15000 rpm is allowed") || !strings.Contains(page, `value="99999"`) {
		t.Error("a speed out of range is not refused with what is allowed")
	}
	before := pulseOf(t, b.get("/maps?state=full"))
	b.do("POST", "/maps/write", url.Values{"map": {"lambda"}}, nil)
	_, stamp, err := b.s.o.Folder.Read("maps/lambda.csv")
	if err != nil {
		t.Fatal(err)
	}
	change := url.Values{"map": {"lambda"}, "r0": {"0"}, "r1": {"15"}, "c0": {"0"}, "c1": {"15"}, "text": {"=0.8"}, "reason": {"a test"}, "seen": {string(stamp)}}
	if res, _ := b.do("POST", "/maps/edit", change, nil); res.StatusCode != http.StatusSeeOther {
		t.Fatal(res.Status)
	}
	if after := pulseOf(t, b.get("/maps?state=full")); after == before {
		t.Errorf("the pulse is %q before and after the lambda target was changed", after)
	}
}

// pulseOf is the pulse that a page shows.
func pulseOf(t *testing.T, page string) string {
	t.Helper()
	m := regexp.MustCompile(`/pulse/WidthS"[^>]*>([^<]+)<`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("the page shows no pulse")
	}
	return m[1]
}
