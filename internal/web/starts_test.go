package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"fettle/internal/channel"
	"fettle/internal/demo"
	"fettle/internal/folder"
	"fettle/internal/web/shell"
)

// startingFiles are the demo with what keeps it from starting mended.
func startingFiles(t *testing.T) map[string][]byte {
	t.Helper()
	files, err := demo.Files("camper")
	if err != nil {
		t.Fatal(err)
	}
	src := strings.Replace(string(files[folder.Main]), "switched: {from: 75,", "switched: {from: 15,", 1)
	if src == string(files[folder.Main]) {
		t.Fatal("the demo has no switched supply from 75")
	}
	files[folder.Main] = []byte(src)
	return files
}

// TestStartThatCanNotBe says of the demo as it is written why nothing is simulated.
func TestStartThatCanNotBe(t *testing.T) {
	b := newBench(t)
	if _, text := b.do("GET", "/start?wait=1", nil, nil); !strings.Contains(text, "It would not start, so no start is simulated") || strings.Contains(text, "CSV:") {
		t.Error("the page does not say that the demo would not start")
	}
	if res, _ := b.do("GET", "/start/log/mild.csv", nil, nil); res.StatusCode != http.StatusNotFound {
		t.Errorf("a log of no start: %s", res.Status)
	}
}

// TestStartWaits asks plainly, as a browser without scripts does: the page that waits
// holds what came of it, the answer is kept, and the logs read back.
func TestStartWaits(t *testing.T) {
	b := benchOf(t, startingFiles(t))
	res, text := b.do("GET", "/start?seed=3&route=hills&wait=1", nil, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("start: %s", res.Status)
	}
	for _, want := range []string{"On the coldest day", "On the mild day", "start-speed", "start-lambda", "L/100", "rolling", "alternator", "less than a millionth"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	from := time.Now()
	if _, again := b.do("GET", "/start?seed=3&route=hills", nil, nil); again != text {
		t.Error("asked again, the page is another")
	}
	if d := time.Since(from); d > 2*time.Second {
		t.Errorf("asked again it took %v: it is not kept", d)
	}
	for _, key := range []string{"coldest", "mild", "hills"} {
		res, log := b.do("GET", "/start/log/"+key+".csv?seed=3&route=hills", nil, nil)
		if res.StatusCode != http.StatusOK || !strings.HasPrefix(res.Header.Get("Content-Type"), "text/csv") {
			t.Fatalf("%s: %s", key, res.Status)
		}
		if !strings.Contains(log, "engine speed [rpm]") || !strings.Contains(log, "manifold pressure [kPa]") {
			t.Errorf("%s: the columns have no names with units", key)
		}
		l, found := channel.Read(strings.NewReader(log), key+".csv")
		if n := l.Of(channel.EngineSpeed); len(found) > 0 || n == nil || len(n.SI) < 500 {
			t.Errorf("%s: the log does not read back: %v", key, found)
		}
	}
	if _, other := b.do("GET", "/start?seed=4&route=hills&wait=1", nil, nil); other == text {
		t.Error("another seed gives the same page")
	}
	for _, bad := range []string{"seed=0", "seed=lots", "seed=1e9", "route=moon"} {
		if res, _ := b.do("GET", "/start?wait=1&"+bad, nil, nil); res.StatusCode != http.StatusBadRequest {
			t.Errorf("%s: %s", bad, res.Status)
		}
	}
}

// TestStartIsStopped watches a start, stops it, and finds nothing of it shown; one with
// another seed beside it goes on.
func TestStartIsStopped(t *testing.T) {
	b := benchOf(t, startingFiles(t))
	cur, err := b.s.current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	beside, _ := b.s.starts.begin(cur.Result, shell.Rehearsal{Seed: 8})
	const asked = "seed=7&route=hills"
	if _, text := b.do("GET", "/start?"+asked, nil, nil); !strings.Contains(text, "fettle-start") || !strings.Contains(text, "Stop it") || !strings.Contains(text, "Wait for it") {
		t.Fatal("the page shows no progress, no stop or no way to wait")
	}
	seen := map[string]bool{}
	for range 400 {
		res, text := b.do("GET", "/start/progress?"+asked, nil, nil)
		if res.StatusCode == http.StatusNoContent {
			t.Fatal("over before it could be stopped")
		}
		_, after, _ := strings.Cut(text, `value="`)
		share, _, _ := strings.Cut(after, `"`)
		if seen[share] = true; strings.Contains(text, "drive over the hills") {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if len(seen) < 2 {
		t.Errorf("the share never moved: %v", seen)
	}
	if res, _ := b.do("POST", "/start/stop", url.Values{"seed": {"7"}, "route": {"hills"}}, nil); res.StatusCode != http.StatusSeeOther || !strings.Contains(res.Header.Get("Location"), "stopped=1") {
		t.Fatalf("stop: %s to %q", res.Status, res.Header.Get("Location"))
	}
	if _, text := b.do("GET", "/start?stopped=1&"+asked, nil, nil); !strings.Contains(text, "It was stopped before its end") || strings.Contains(text, "CSV:") {
		t.Error("a stopped start is shown")
	}
	ended := false
	for range 200 {
		if res, _ := b.do("GET", "/start/progress?"+asked, nil, nil); res.StatusCode == http.StatusNoContent {
			ended = true
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if !ended {
		t.Error("it runs on")
	}
	<-beside.ended
	if got := b.s.starts.look(beside); got.Stopped || len(got.Runs) != 2 {
		t.Errorf("the start beside it was stopped too: %d runs, %v", len(got.Runs), got.Err)
	}
}

// TestBrowserStart opens the sheet with scripts: the bar gives way to the plots by
// itself, and Stop puts a page in place that says so.
func TestBrowserStart(t *testing.T) {
	b := newBrowser(t)
	b.bench = benchOf(t, startingFiles(t))
	b.open("/start?seed=5&route=hills")
	b.until("the plots and the drive", `!!document.querySelector('#drive') && document.querySelectorAll('.plot svg').length >= 6 && !document.querySelector('fettle-start')`)
	b.open("/start?seed=6&route=hills")
	b.until("the bar", `!!document.querySelector('fettle-start progress')`)
	b.until("a stopped start", `(document.querySelector('#stop')?.click(), document.body.textContent.includes('It was stopped before its end'))`)
	b.quiet()
}
