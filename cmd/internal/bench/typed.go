package bench

import (
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

// What is typed into a form with a number (once.go) is a draft like that of an
// assessment, in the same kind of file, under the number of its form: the script sends
// it while it is typed, and a refusal keeps it without script. It is offered again where
// it belongs, and is gone when the form was recorded or somebody threw it away.

// keeps are the forms that are kept, by where they are sent. A scan that packs is not:
// it is recorded at once or refused.
var keeps = regexp.MustCompile(`^/(cell/[^/]+/(recheck|raise|secure|move|correct|retract|wrong|determine)|done/\d+|retract/\d+|pack/begin|pack/[^/]+/(close|reopen)|review/sign|attach)$`)

// typed are the drafts of forms with a number.
func (s *Server) typed() drafts { return drafts{filepath.Join(s.drafts.dir, "typed")} }

// placeOf says to what a form belongs: its path, and what in it says what it is about.
func placeOf(path string, v url.Values) string {
	switch path {
	case "/review/sign":
		return path + " " + v.Get("check") + " " + v.Get("subject")
	case attachPath:
		return path + " " + v.Get("to")
	}
	return path
}

// controls are the names in a form that nobody types.
var controls = []string{"form", "do", "last", "action", "back", "found", "set", "sure", "anyway", "from", "to", "check", "subject"}

// typedOf are the values of a form that its draft keeps, none where nothing was typed:
// a name, or what stands chosen from the beginning, is nothing by itself.
func typedOf(v url.Values) url.Values {
	out, any := url.Values{}, false
	for name, list := range v {
		if slices.Contains(controls, name) {
			continue
		}
		for _, text := range list {
			if strings.TrimSpace(text) == "" {
				continue
			}
			out[name] = append(out[name], text)
			any = any || !slices.Contains([]string{"who", "entry", "level", "route", "shipment"}, name) && !slices.Contains(app.ChangeReasons, text)
		}
	}
	if !any {
		return nil
	}
	return out
}

// postDraft keeps what the script sends while somebody types.
func (s *Server) postDraft(w http.ResponseWriter, r *http.Request) {
	v, err := readForm(r)
	if err == nil {
		id := formKey(v.Get("form"), v.Get("action"))
		defer s.records.lock(id)()
		err = s.keepTyped(r, v.Get("form"), v.Get("action"), v)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// keepTyped keeps a form, while no other request of it is at work. One that was recorded
// meanwhile leaves no draft.
func (s *Server) keepTyped(r *http.Request, number, path string, v url.Values) error {
	if !formID.MatchString(number) || !keeps.MatchString(path) {
		return &statusError{http.StatusBadRequest, "No draft is kept of such a form."}
	}
	id := formKey(number, path)
	if sent, err := s.forms().get(id); err != nil || sent != nil && sent.Entry > 0 {
		return err
	}
	values := typedOf(v)
	if values == nil {
		return s.typed().drop(id)
	}
	now := s.desk.Now()
	x := &draft{ID: id, Rev: 1, Bench: s.bench(r), Begun: now, Changed: now, Values: values, Form: number, Place: placeOf(path, v)}
	if old, err := s.typed().get(id); err == nil && old != nil {
		x.Rev, x.Begun = old.Rev+1, old.Begun
	}
	return s.typed().put(x)
}

// keepPosted keeps a posted form that is not recorded. That it cannot be kept is no
// second refusal: the page shows what was typed.
func (s *Server) keepPosted(r *http.Request) {
	number := r.PostFormValue("form")
	defer s.records.lock(formKey(number, r.URL.Path))()
	_ = s.keepTyped(r, number, r.URL.Path, r.PostForm)
}

// enterOnly reports whether a form was sent by Enter, or by a scan that ends in one: the
// first of its buttons, which stands for none.
func enterOnly(v url.Values) bool { return v.Has("do") && v.Get("do") == "" && !v.Has("to") }

// onlyFilled answers a form that came without one of its buttons.
func (s *Server) onlyFilled(r *http.Request) error {
	s.keepPosted(r)
	return errOnly
}

// dropDraft throws a draft away.
func (s *Server) dropDraft(w http.ResponseWriter, r *http.Request) {
	v, err := readForm(r)
	if err == nil {
		err = s.typed().drop(v.Get("draft"))
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, backTo(v.Get("back")), http.StatusSeeOther)
}

// A sheet is a form with a number as a screen draws it.
type sheet struct {
	Number string
	NoWho  bool     // nobody is remembered: the form asks
	Offers []*draft // typed before, not recorded
	Taken  *draft   // the one that was taken up
	values url.Values
	page   string // that it stands on
	part   string // of the page
}

// sheets draw the forms of one page.
type sheets struct {
	s    *Server
	r    *http.Request
	list []*draft
}

func (s *Server) sheets(r *http.Request) *sheets {
	return &sheets{s, r, s.typed().open(s.bench(r), s.desk.Now())}
}

// of makes the form that is sent to a path from a part of a page; about holds what
// placeOf asks for. It is filled with what was refused, or with the draft that somebody
// takes up.
func (x *sheets) of(page, part, path string, about url.Values) *sheet {
	f := &sheet{NoWho: x.s.who(x.r) == "", page: page, part: part}
	place := placeOf(path, about)
	switch {
	case x.r.Method == http.MethodPost && x.r.URL.Path == path && placeOf(path, x.r.PostForm) == place:
		f.values, f.Number = x.r.PostForm, x.r.PostFormValue("form")
		// A number that was used up, or that ended in between, is not used again.
		if sent, err := x.s.forms().get(formKey(f.Number, path)); err != nil || sent != nil || !formID.MatchString(f.Number) {
			f.Number = ""
		}
	case x.r.Method == http.MethodGet:
		for _, d := range x.list {
			if d.Place == place && d.ID == x.r.URL.Query().Get("draft") {
				f.Taken, f.values, f.Number = d, d.Values, d.Form
			}
		}
	}
	for _, d := range x.list {
		if d.Place == place && d.Form != f.Number {
			f.Offers = append(f.Offers, d)
		}
	}
	if f.Number == "" {
		f.Number = newForm()
	}
	return f
}

// Part is the part of its page that it stands in.
func (f *sheet) Part() string { return f.part }

// Named is the form where it asks for a name anyway.
func (f *sheet) Named() *sheet {
	named := *f
	named.NoWho = false
	return &named
}

// Was is what stands in a field.
func (f *sheet) Was(name string) string { return f.values.Get(name) }

// Has reports whether one of several values is among those of a name.
func (f *sheet) Has(name, value string) bool { return slices.Contains(f.values[name], value) }

// Filled reports whether the form shows what was typed before.
func (f *sheet) Filled() bool { return f.values != nil }

// Open reports whether the form is shown without somebody opening its part.
func (f *sheet) Open() bool { return f.Filled() || len(f.Offers) > 0 }

// Back is the form's own place.
func (f *sheet) Back() string { return f.page + "#" + f.part }

// Take leads to the form filled with a draft.
func (f *sheet) Take(id string) string {
	sign := "?"
	if strings.Contains(f.page, "?") {
		sign = "&"
	}
	return f.page + sign + "draft=" + id + "#" + f.part
}

// mostGist is how much of a draft is named.
const mostGist = 90

// Gist names what a draft holds, so that a person knows it again.
func (x *draft) Gist() string {
	var parts []string
	for _, name := range slices.Sorted(func(yield func(string) bool) {
		for name := range x.Values {
			if !yield(name) {
				return
			}
		}
	}) {
		if name == "who" {
			continue
		}
		label := name
		if f, ok := triage.FieldByName(name); ok {
			label = triage.Fields[f].Label
		}
		parts = append(parts, label+" "+strings.Join(x.Values[name], ", "))
	}
	return cut(exports.Clean(strings.Join(parts, "; ")), mostGist)
}
