package bench

import (
	"cmp"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"log"
	"net"
	"net/http"
	"slices"
	"sync"
	"time"

	"pouchward/cmd/internal/app"
)

//go:embed all:templates static
var files embed.FS

// Config says what a server works on.
type Config struct {
	Desk  *app.Desk
	House string // house file, blank for none
	Bench string // name of the bench, where the browser does not say
	Who   string // the same of the person
	Demo  bool   // the shop is invented, and every page says so
}

// Limits of the server, common practice: a form of readings is a few KiB, and
// nobody at a bench waits longer for a page.
const (
	maxForm    = 64 << 10
	readTime   = 20 * time.Second // a photo of 50 MB over loopback
	writeTime  = 60 * time.Second
	idleTime   = 2 * time.Minute
	headerTime = 5 * time.Second
	maxHeader  = 16 << 10
	closeTime  = 5 * time.Second
	verifyTime = time.Second // that the first page waits for the log to be verified
)

// Busy is how long a page waits for another writer of the log before it says so
// and keeps what was typed.
const Busy = 3 * time.Second

// A Server draws the pages.
type Server struct {
	Config
	desk   *app.Desk
	pages  map[string]*template.Template
	drafts drafts
	card   emergency

	records keyed // by form, so that one sent twice is seen
	writes  keyed // by draft
	said    said

	reviewing sync.Mutex // one review at a time
}

// New makes a server.
func New(c Config) (*Server, error) {
	s := &Server{Config: c, desk: c.Desk, drafts: draftsOf(c.Desk.Place.Path)}
	var err error
	if s.pages, err = parsePages(); err != nil {
		return nil, fmt.Errorf("reading the templates: %w", err)
	}
	s.card, err = newEmergency(c.House)
	return s, err
}

// Handler answers the requests to a port.
func (s *Server) Handler(port int) http.Handler {
	mux := http.NewServeMux()
	for _, x := range screens() {
		x.routes(s, mux)
	}
	s.frameRoutes(mux)
	return guard(port, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != attachPath {
			r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		}
		if why := s.desk.ReadOnly(); why != nil && r.Method == http.MethodPost && !slices.Contains(readingPosts, r.URL.Path) {
			s.fail(w, r, why)
			return
		}
		mux.ServeHTTP(w, r)
	}))
}

// readingPosts are the forms that answer without writing to the log; /assess itself
// refuses to record.
var readingPosts = []string{"/assess", "/assess/live", "/who"}

// Listen begins to listen on an address that Loopback gave.
func Listen(addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("listening on %s: %w; is a bench page open there already? Name another port: --addr 127.0.0.1:0 takes a free one", addr, errors.Unwrap(err))
	}
	return l, nil
}

// Serve answers until the context ends, and then lets answers that have begun
// come to their end.
func (s *Server) Serve(ctx context.Context, l net.Listener, errOut io.Writer) error {
	port := l.Addr().(*net.TCPAddr).Port
	srv := &http.Server{Handler: s.Handler(port), ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		ReadHeaderTimeout: headerTime, MaxHeaderBytes: maxHeader, ErrorLog: log.New(errOut, "pouchward bench: ", 0)}
	ended := make(chan error, 1)
	first := make(chan struct{})
	go s.desk.Watch(ctx, first)
	select { // of a long log the pages say that it is not verified yet
	case <-first:
	case <-time.After(verifyTime):
	}
	go func() {
		<-ctx.Done()
		stop, cancel := context.WithTimeout(context.Background(), closeTime)
		defer cancel()
		ended <- srv.Shutdown(stop)
	}()
	if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serving the bench page: %w", err)
	}
	return <-ended
}

// URL is the address of the page.
func URL(l net.Listener) string { return "http://" + l.Addr().String() + "/" }

// recording writes for the person and the bench that the browser names.
func (s *Server) recording(r *http.Request) *app.Recording {
	return s.desk.Recording(s.bench(r), s.who(r))
}

// bench is the name of the bench.
func (s *Server) bench(r *http.Request) string { return cmp.Or(cookieText(r, benchCookie), s.Bench) }

// who is the person: as the form says, else as the browser remembers.
func (s *Server) who(r *http.Request) string {
	if r.Method == http.MethodPost {
		if who := cleanWho(r.PostFormValue("who")); who != "" {
			return who
		}
	}
	return cmp.Or(cookieText(r, whoCookie), s.Who)
}
