package bench

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"

	"pouchward/cmd/internal/app"
)

// policy is the content security policy of every answer. connect-src lets our own
// script post our own form.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// guard wraps a handler in what holds of every request: it names this server, it
// does not come from another site, and no answer is kept, framed or guessed at.
func guard(port int, next http.Handler) http.Handler {
	hosts := hostsOf(port)
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "Refused: this form was sent by another page. Open the bench page itself and do it there.", http.StatusForbidden)
	}))
	inner := cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		// A name that leads here is not yet ours: a page elsewhere may have its own
		// name lead to this machine.
		if !slices.Contains(hosts, r.Host) {
			http.Error(w, "Refused: this server is "+hosts[0]+" and no other.", http.StatusMisdirectedRequest)
			return
		}
		if lent(r) {
			http.Error(w, "Refused: another page asked for this. Open the bench page itself.", http.StatusForbidden)
			return
		}
		inner.ServeHTTP(w, r)
	})
}

// lent reports whether a page elsewhere has its browser ask for something of ours
// without showing it to anybody, as for a picture: that would have reviews made, and
// take the notices that wait for the next page of an entry (said.go). A link to us is
// none (w3.org, Fetch Metadata Request Headers).
func lent(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "cross-site", "same-site": // another port of this machine is the same site
		return r.Header.Get("Sec-Fetch-Mode") != "navigate" || r.Header.Get("Sec-Fetch-Dest") != "document"
	}
	return false
}

// hostsOf are the names of this server.
func hostsOf(port int) []string {
	p := strconv.Itoa(port)
	hosts := []string{"127.0.0.1:" + p, "localhost:" + p, "[::1]:" + p}
	if port == 80 {
		hosts = append(hosts, "127.0.0.1", "localhost", "[::1]") // a browser leaves the usual port out
	}
	return hosts
}

// Loopback reads the address to listen on. Anything but loopback is refused: the
// page knows no passwords.
func Loopback(addr string) (string, error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return "", app.Usage("--addr %q: use 127.0.0.1:8417, an address and a port", addr)
	}
	if n, err := strconv.ParseUint(port, 10, 16); err != nil {
		return "", app.Usage("--addr %q: the port %q is no number from 0 to 65535", addr, port)
	} else if port = strconv.FormatUint(n, 10); host == "localhost" {
		return net.JoinHostPort("127.0.0.1", port), nil
	}
	ip, err := netip.ParseAddr(host)
	if err != nil || !ip.IsLoopback() || ip.Zone() != "" || host != "127.0.0.1" && host != "::1" {
		return "", app.Usage("--addr %q: the page is for this machine alone, since whoever opens it can write to the log: use 127.0.0.1:%s. Other devices come in a later release", addr, port)
	}
	return net.JoinHostPort(host, port), nil
}
