package web

import (
	"net"
	"net/http"
	"slices"
)

// mostBodyBytes bounds what a form may send.
const mostBodyBytes = 64 << 10

// policy lets a page use what this server gives it, and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard keeps others out: it answers only what comes in on a loopback address
// under one of its names, refuses what another site sends, bounds bodies, and
// tells the browser to hold pages to their own.
func guard(next http.Handler) http.Handler {
	own := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !ourHost(r) {
			http.Error(w, "this server answers to its loopback address only", http.StatusMisdirectedRequest)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBodyBytes)
		own.ServeHTTP(w, r)
	})
}

// ourHost reports whether a request came in on a loopback address and names it:
// a name that was pointed at this machine from outside is not served.
func ourHost(r *http.Request) bool {
	addr, _ := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if addr == nil || !isLoopback(addr) {
		return false
	}
	ip, port, err := net.SplitHostPort(addr.String())
	if err != nil {
		return false
	}
	host, given, err := net.SplitHostPort(r.Host)
	if err != nil {
		host, given = r.Host, "80"
	}
	return given == port && slices.Contains([]string{ip, "localhost", "127.0.0.1", "::1"}, host)
}

func isLoopback(addr net.Addr) bool {
	t, ok := addr.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}
