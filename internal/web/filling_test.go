package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

// TestFillingTellsAndEnds: a browser that asks for a sheet whose engine's tables
// are not filled is told how far they are; it can end the work, and then gets no
// figures but the offer to begin anew; begun anew, it gets the sheet.
func TestFillingTellsAndEnds(t *testing.T) {
	b := newBench(t)
	navigates := map[string]string{"Sec-Fetch-Mode": "navigate"}
	_, page := b.do("GET", "/maps?map=ve", nil, navigates)
	for _, want := range []string{"being filled", "Cancel", "<progress", `<noscript><meta http-equiv="refresh"`, `value="/maps?map=ve"`} {
		if !strings.Contains(page, want) {
			t.Fatalf("the page that waits has no %q", want)
		}
	}
	told := false
	for end := time.Now().Add(20 * time.Second); !told && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		_, far := b.do("GET", "/filling", nil, nil)
		told = strings.Contains(far, "cell ") && !strings.Contains(far, "cell 0 of")
	}
	if !told {
		t.Fatal("no cell is told of")
	}
	res, _ := b.do("POST", "/filling/end", url.Values{"to": {"/maps?map=ve"}}, nil)
	if res.StatusCode != http.StatusSeeOther || res.Header.Get("Location") != "/maps?map=ve" {
		t.Fatalf("ended: %s to %q", res.Status, res.Header.Get("Location"))
	}
	_, page = b.do("GET", "/maps?map=ve", nil, navigates)
	if !strings.Contains(page, "not filled.") || !strings.Contains(page, "again=yes") || strings.Contains(page, "class=\"grid\"") {
		t.Fatal("what was ended is not said to be")
	}
	if _, far := b.do("GET", "/filling", nil, nil); !strings.Contains(far, "data-over") {
		t.Error("the work goes on")
	}
	_, page = b.do("GET", "/maps?map=ve&again=yes", nil, navigates)
	if !strings.Contains(page, "being filled") {
		t.Error("it was not begun anew")
	}
	for end := time.Now().Add(60 * time.Second); !strings.Contains(page, `class="grid"`); time.Sleep(100 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the sheet does not come")
		}
		_, page = b.do("GET", "/maps?map=ve", nil, navigates)
	}
	if res, _ := b.do("POST", "/filling/end", url.Values{"to": {"//elsewhere.example/"}}, nil); res.Header.Get("Location") != "/" {
		t.Errorf("leads to %q", res.Header.Get("Location"))
	}
}

// TestEditIsGivenUp: an edit of the engine whose sender goes away is not made.
func TestEditIsGivenUp(t *testing.T) {
	b := newBench(t)
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	client := *b.client
	client.Timeout = 300 * time.Millisecond
	q := url.Values{"page": {"engine"}, "seen": {string(cur.Stamp)}}
	form := url.Values{"path": {"engine/bore"}, "what": {"bore"}, "text": {"83 mm"}}
	res, err := client.PostForm(b.srv.URL+"/edit?"+q.Encode(), form)
	if err == nil {
		res.Body.Close()
		t.Skip("this machine fills an engine's tables before anybody could give up")
	}
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if _, of := b.s.o.Cache.EngineProgress(); of == 0 {
			break
		}
		if time.Now().After(end) {
			t.Fatal("the work goes on")
		}
	}
	after, err := b.s.current(t.Context())
	if err != nil || after.Stamp != cur.Stamp {
		t.Errorf("the file was changed, %v", err)
	}
}
