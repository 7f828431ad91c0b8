package bench

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// A screen is one link of the top bar with what answers it.
type screen struct {
	Name, Path string
	routes     func(*Server, *http.ServeMux)
}

// screens are those of the top bar, in order.
func screens() []screen {
	return []screen{
		{"Assess", "/assess", (*Server).assessRoutes},
		{"Due", "/due", (*Server).dueRoutes},
		{"Stock", "/stock", (*Server).stockRoutes},
		{"Cell", "/cell", (*Server).cellRoutes},
		{"Pack", "/pack", (*Server).packRoutes},
		{"Review", "/review", (*Server).reviewRoutes},
		{"Rules", "/rules", (*Server).ruleRoutes},
	}
}

// A page is what a handler gives to show.
type page struct {
	Title  string
	Screen string // path of the screen that it belongs to
	File   string // in templates
	Status int    // 0: 200
	Data   any
}

// A view is what the frame shows around a page.
type view struct {
	page
	Screens    []screen
	Site       string
	Bench, Who string
	People     []string
	Day, Clock string
	Card       emergency
	Notice     string
	Damaged    string // what a verification of the log found
	Limits     string // what else is to be said of the log
	Demo       bool
	Back       string // where setting a name leads back to
	Ages       bool   // it shows what the log says, and does not follow it
}

// An emergency is the card that asks nothing.
type emergency struct {
	Steps       []exports.Step
	Posts       []exports.Post
	Wall        string // what no file knows: on the wall sheet, by hand
	Care        []string
	Word, When  string
	Source, Bad string // Bad: what is wrong with the house file
}

// newEmergency reads the card once: it must not wait for a file later.
func newEmergency(house string) (e emergency, err error) {
	rb, err := app.NewestRules()
	if err != nil {
		return e, err
	}
	shop, notice := app.ShopFacts(house)
	w := exports.NewWallSheet(rb, shop)
	e = emergency{Steps: w.Steps, Care: w.Care, Word: w.Word, When: w.When, Source: w.Source, Bad: notice}
	var blank []string
	for _, p := range w.Posts {
		if p.Text == "" {
			blank = append(blank, strings.ToLower(p.Label))
			continue
		}
		e.Posts = append(e.Posts, p)
	}
	e.Wall = strings.Join(blank, ", ")
	return e, nil
}

var templateFuncs = template.FuncMap{
	"clean": exports.Clean,
	"code":  asCode,
	"say":   func(text string) template.HTML { return asCode(inWords(text)) },
	"photo": func(f *sheet, tag, back string) photoView { return photoView{f, tag, back} },
	"tag":   triage.SpacedTag,
	"lower": strings.ToLower,
	"upper": strings.ToUpper,
}

// parsePages parses each page together with the frame and the parts that pages
// share, whose files begin with "_".
func parsePages() (map[string]*template.Template, error) {
	shared := template.New("").Funcs(templateFuncs)
	if _, err := shared.ParseFS(files, "templates/_*.html"); err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "templates/[a-z]*.html")
	pages := map[string]*template.Template{}
	for _, name := range names {
		t, err := template.Must(shared.Clone()).ParseFS(files, name)
		if err != nil {
			return nil, err
		}
		pages[path.Base(name)] = t
	}
	return pages, err
}

// show draws a page in the frame. It is drawn whole before a byte is sent.
func (s *Server) show(w http.ResponseWriter, r *http.Request, p page) {
	v := s.frame(r, p)
	var b bytes.Buffer
	if err := s.pages[p.File].ExecuteTemplate(&b, "frame", v); err != nil {
		http.Error(w, "drawing the page: "+err.Error(), http.StatusInternalServerError)
		return
	}
	send(w, p.Status, "text/html; charset=utf-8", b.Bytes())
}

// part draws one part of a page, without the frame.
func (s *Server) part(w http.ResponseWriter, file, name string, data any) {
	var b bytes.Buffer
	if err := s.pages[file].ExecuteTemplate(&b, name, data); err != nil {
		http.Error(w, "drawing the page: "+err.Error(), http.StatusInternalServerError)
		return
	}
	send(w, 0, "text/html; charset=utf-8", b.Bytes())
}

func send(w http.ResponseWriter, status int, kind string, body []byte) {
	w.Header().Set("Content-Type", kind)
	if status != 0 {
		w.WriteHeader(status)
	}
	_, _ = w.Write(body) // a browser that went away is no fault
}

// aging are the pages of what stands in the log.
var aging = []string{"cell.html", "done.html", "due.html", "stock.html", "pack.html", "package.html", "review.html", "print.html"}

func (s *Server) frame(r *http.Request, p page) *view {
	now := s.desk.Now()
	v := &view{page: p, Screens: screens(), Bench: s.bench(r), Who: s.who(r), Day: now.Format("Mon 2006-01-02"), Clock: now.Format("15:04"),
		Card: s.card, Demo: s.Demo, Back: r.URL.RequestURI()}
	if r.Method != http.MethodGet {
		v.Back = p.Screen
	}
	v.Ages = r.Method == http.MethodGet && slices.Contains(aging, p.File)
	// Neither keeps a page from being shown.
	v.People, _ = s.desk.People(6)
	v.Damaged, v.Limits = s.desk.LogNotices()
	if shop, err := s.desk.Shop(); err != nil {
		v.Notice = err.Error()
	} else {
		v.Notice = shop.Notice
		if shop.House != nil {
			v.Site = shop.House.Shop.Site
		}
	}
	return v
}

// frameRoutes answers what belongs to every page.
func (s *Server) frameRoutes(mux *http.ServeMux) {
	s.printRoutes(mux)
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, screens()[0].Path, http.StatusSeeOther)
	})
	mux.HandleFunc("POST /who", s.setWho)
	mux.HandleFunc("POST /draft", s.postDraft)
	mux.HandleFunc("POST /draft/drop", s.dropDraft)
	for _, name := range []string{"style.css", "page.js", "icon.svg"} {
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, _ *http.Request) {
			data, err := files.ReadFile("static/" + name)
			if err != nil {
				http.Error(w, err.Error(), http.StatusInternalServerError)
				return
			}
			// No page is kept, but what belongs to this program may be for the day.
			w.Header().Set("Cache-Control", "no-cache")
			send(w, 0, mime.TypeByExtension(path.Ext(name)), data)
		})
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, &statusError{http.StatusNotFound, "There is no such page here."})
	})
}

// A statusError is an error with the status of its answer.
type statusError struct {
	status int
	text   string
}

func (e *statusError) Error() string { return e.text }

func tooLarge(most int64) error {
	size := fmt.Sprintf("%d KiB", most>>10)
	if most > logbook.MaxFileBytes {
		size = fmt.Sprintf("%d MB", logbook.MaxFileBytes/1_000_000)
	}
	return &statusError{http.StatusRequestEntityTooLarge, "What was sent is larger than the " + size + " that are taken here; nothing was recorded."}
}

// formError is why a form could not be read.
func formError(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return tooLarge(large.Limit)
	}
	return &statusError{http.StatusBadRequest, "The form could not be read: " + err.Error() + ". Nothing was recorded; go back and send it again."}
}

// statusOf is the status of an answer that tells of an error.
func statusOf(err error) int {
	var is *statusError
	var exit *app.ExitError
	switch {
	case errors.As(err, &is):
		return is.status
	case logbook.IsBusy(err):
		return http.StatusServiceUnavailable
	case logbook.IsReadOnly(err):
		return http.StatusForbidden
	case errors.As(err, &exit) && exit.Code == app.ExitUsage:
		return http.StatusUnprocessableEntity
	}
	return http.StatusInternalServerError
}

// fail tells what went wrong, in the frame, so that the emergency card stays at
// hand.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	status := statusOf(err)
	if status == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", "2")
	}
	s.show(w, r, page{Title: "Not done", Screen: "", File: "fail.html", Status: status, Data: words(err)})
}
