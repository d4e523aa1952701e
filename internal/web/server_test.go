package web

import (
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/catalogue"
	"fettle/internal/demo"
	"fettle/internal/folder"
	"fettle/internal/questions"
	"fettle/internal/run"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// bench is a served copy of the demo.
type bench struct {
	*testing.T
	dir    string
	s      *Server
	srv    *httptest.Server
	client *http.Client
}

func newBench(t *testing.T) *bench {
	t.Helper()
	files, err := demo.Files("camper")
	if err != nil {
		t.Fatal(err)
	}
	return benchOf(t, files)
}

// begunBench is a served build that began from the question sheet.
func begunBench(t *testing.T) *bench {
	t.Helper()
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	a := questions.Defaults(questions.Sheet(cat))
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	return benchOf(t, map[string][]byte{folder.Main: a.Build(cat), questions.File: text})
}

func benchOf(t *testing.T, files map[string][]byte) *bench {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "build")
	f, err := folder.Create(dir, files)
	if err != nil {
		t.Fatal(err)
	}
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Folder: f, Cache: c})
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(s.Handler())
	t.Cleanup(func() { srv.Close(); s.Close(); f.Close() })
	client := srv.Client()
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &bench{t, dir, s, srv, client}
}

func (b *bench) do(method, path string, form url.Values, head map[string]string) (*http.Response, string) {
	b.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	req, err := http.NewRequest(method, b.srv.URL+path, body)
	if err != nil {
		b.Fatal(err)
	}
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for k, v := range head {
		if k == "Host" {
			req.Host = v
		}
		req.Header.Set(k, v)
	}
	res, err := b.client.Do(req)
	if err != nil {
		b.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		b.Fatal(err)
	}
	return res, string(text)
}

func (b *bench) get(path string) string {
	b.Helper()
	res, text := b.do("GET", path, nil, nil)
	if res.StatusCode != http.StatusOK {
		b.Fatalf("GET %s: %s\n%s", path, res.Status, text)
	}
	return text
}

func (b *bench) file() string {
	b.Helper()
	text, err := os.ReadFile(filepath.Join(b.dir, folder.Main))
	if err != nil {
		b.Fatal(err)
	}
	return string(text)
}

// edit posts a change as a page would that shows the file as it is now.
func (b *bench) edit(form url.Values, head map[string]string) (*http.Response, string) {
	b.Helper()
	b.get("/power?state=full")
	q := url.Values{"page": {"power"}, "state": {"full"}, "seen": {string(folder.StampOf([]byte(b.file())))}}
	return b.do("POST", "/edit?"+q.Encode(), form, head)
}

func TestManners(t *testing.T) {
	b := newBench(t)
	port := strings.TrimPrefix(b.srv.URL, "http://127.0.0.1:")
	edit := url.Values{"path": {"name"}, "text": {"x"}}
	for _, c := range []struct {
		name, method, path string
		form               url.Values
		head               map[string]string
		want               int
	}{
		{"the address itself", "GET", "/", nil, nil, 200},
		{"by its name", "GET", "/", nil, map[string]string{"Host": "localhost:" + port}, 200},
		{"a name pointed here", "GET", "/", nil, map[string]string{"Host": "evil.example:" + port}, 421},
		{"a name that begins alike", "GET", "/", nil, map[string]string{"Host": "localhost.evil.example:" + port}, 421},
		{"another port", "GET", "/", nil, map[string]string{"Host": "localhost:1"}, 421},
		{"no port", "GET", "/", nil, map[string]string{"Host": "localhost"}, 421},
		{"a form of another site", "POST", "/edit?page=power", edit, map[string]string{"Origin": "http://evil.example"}, 403},
		{"a form of another port", "POST", "/edit?page=power", edit, map[string]string{"Origin": "http://127.0.0.1:1"}, 403},
		{"sent across sites", "POST", "/edit?page=power", edit, map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		{"an old page", "POST", "/edit?page=power", edit, map[string]string{"Origin": b.srv.URL}, 422},
		{"a form of 100 kB", "POST", "/edit?page=power", url.Values{"text": {strings.Repeat("x", 100_000)}}, nil, 422},
		{"nothing there", "GET", "/nothing", nil, nil, 404},
		{"out of the folder", "GET", "/assets/..%2f..%2fbuild.yaml", nil, nil, 404},
		{"no such figure", "GET", "/why/no/such", nil, nil, 404},
		{"no such rule", "GET", "/rule/no-such", nil, nil, 404},
		{"edit by link", "GET", "/edit", nil, nil, 405},
		{"post to a page", "POST", "/power", url.Values{}, nil, 405},
		{"delete", "DELETE", "/power", nil, nil, 405},
		{"chances of an older build", "GET", "/rooms?hash=0", nil, nil, 409},
		{"a book that is not there", "GET", "/book.pdf", nil, nil, 404},
	} {
		res, text := b.do(c.method, c.path, c.form, c.head)
		if res.StatusCode != c.want {
			t.Errorf("%s: %d, want %d\n%.300s", c.name, res.StatusCode, c.want, text)
		}
		if p := res.Header.Get("Content-Security-Policy"); !strings.HasPrefix(p, "default-src 'none';") || strings.Contains(p, "unsafe") {
			t.Errorf("%s: policy %q", c.name, p)
		}
		for k, v := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
			if got := res.Header.Get(k); got != v {
				t.Errorf("%s: %s is %q", c.name, k, got)
			}
		}
	}
	files, err := demo.Files("camper")
	if err != nil || b.file() != string(files[folder.Main]) {
		t.Errorf("a refused request changed the file (%v)", err)
	}
}

func TestAssets(t *testing.T) {
	b := newBench(t)
	for name, kind := range map[string]string{"regular.ttf": "font/ttf", "bold.ttf": "font/ttf", "drawing.css": "text/css; charset=utf-8", "mark.svg": "image/svg+xml"} {
		res, text := b.do("GET", "/assets/"+name, nil, nil)
		if res.StatusCode != 200 || res.Header.Get("Content-Type") != kind || len(text) < 100 {
			t.Errorf("%s: %s, %s, %d bytes", name, res.Status, res.Header.Get("Content-Type"), len(text))
		}
		tag := res.Header.Get("ETag")
		if again, _ := b.do("GET", "/assets/"+name, nil, map[string]string{"If-None-Match": tag}); again.StatusCode != 304 {
			t.Errorf("%s again with its tag: %s", name, again.Status)
		}
	}
}

func TestServeStopsGracefully(t *testing.T) {
	b := newBench(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- b.s.Serve(ctx, l) }()
	res, err := http.Get("http://" + l.Addr().String() + "/power")
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	http.DefaultClient.CloseIdleConnections()
	stop()
	if err := <-ended; err != nil || res.StatusCode != 200 {
		t.Errorf("served %s, ended with %v", res.Status, err)
	}
	if l, err = net.Listen("tcp", "0.0.0.0:0"); err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if err := b.s.Serve(context.Background(), l); err == nil || !strings.Contains(err.Error(), "loopback") {
		t.Errorf("served on every address: %v", err)
	}
}
