package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// dist is what cmd/bundle made of src.
//
//go:embed all:dist
var dist embed.FS

// mark is the sign in a browser's tab: a sheet with a line and a load on it.
const mark = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" fill="#fbfaf6"/><path d="M3 16h6M23 16h6" stroke="#1b1d1f" stroke-width="2.5"/><rect x="9" y="11" width="14" height="10" fill="none" stroke="#1b1d1f" stroke-width="2.5"/></svg>`

// assets are the files that pages load.
type assets struct {
	files   map[string][]byte
	tags    map[string]string
	Version string // of all of them
	Script  bool   // the scripts were built
}

func readAssets() (*assets, error) {
	a := &assets{files: map[string][]byte{
		"mark.svg": []byte(mark), "regular.ttf": typeface.Regular(), "bold.ttf": typeface.Bold(), "drawing.css": []byte(drawing.StyleSheet() + drawing.ShadeSheet()),
	}, tags: map[string]string{}}
	for _, name := range []string{"app.js", "app.css"} {
		data, err := dist.ReadFile("dist/" + name)
		if errors.Is(err, fs.ErrNotExist) {
			continue // built without its assets: the pages are plain, and work
		}
		if err != nil {
			return nil, err
		}
		a.files[name] = data
	}
	_, a.Script = a.files["app.js"]
	all := sha256.New()
	for _, name := range []string{"app.js", "app.css", "drawing.css"} {
		all.Write(a.files[name])
	}
	a.Version = hex.EncodeToString(all.Sum(nil))[:12]
	for name, data := range a.files {
		sum := sha256.Sum256(data)
		a.tags[name] = `"` + hex.EncodeToString(sum[:12]) + `"`
	}
	return a, nil
}

// ServeHTTP gives one file, to be kept by the browser.
func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	data, ok := a.files[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	kind := mime.TypeByExtension(path.Ext(name))
	if path.Ext(name) == ".ttf" {
		kind = "font/ttf"
	}
	h.Set("Content-Type", kind)
	h.Set("ETag", a.tags[name])
	h.Set("Cache-Control", "public, max-age=86400")
	if r.URL.Query().Get("v") == a.Version {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if r.Header.Get("If-None-Match") == a.tags[name] {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if r.Method != http.MethodHead {
		_, _ = w.Write(data) // the reader has gone: nobody to tell
	}
}
