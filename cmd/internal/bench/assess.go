package bench

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strings"

	"pouchward/triage"
)

func (s *Server) assessRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /assess", s.getAssess)
	mux.HandleFunc("POST /assess", s.postAssess)
	mux.HandleFunc("POST /assess/live", s.live)
	s.doneRoutes(mux)
}

// getAssess shows the form: the draft that is asked for, else the newest of this
// bench, else an empty one.
func (s *Server) getAssess(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	open := s.drafts.open(s.bench(r), s.desk.Now())
	var x *draft
	switch id := q.Get("draft"); {
	case id != "":
		var err error
		if x, err = s.drafts.get(id); err != nil {
			s.fail(w, r, err)
			return
		}
		if x != nil && x.Entry > 0 {
			http.Redirect(w, r, donePath(x.Entry), http.StatusSeeOther)
			return
		}
	case q.Has("new") || q.Get("tag") != "":
	case len(open) > 0:
		x = open[0]
	}
	f := &form{Other: open, Restored: x != nil && q.Get("draft") == ""}
	if f.draft = x; x != nil {
		if err := s.likeness(f); err != nil {
			s.fail(w, r, err)
			return
		}
	}
	if x == nil {
		x = &draft{ID: newDraftID(), Bench: s.bench(r), Begun: s.desk.Now(), Values: url.Values{}}
		if tag := q.Get("tag"); tag != "" {
			x.Values.Set("tag", cut(tag, 40))
		}
	}
	s.showForm(w, r, x, f, 0)
}

// postAssess takes the form: RECORD writes an entry, anything else keeps the draft
// and shows the form anew. Without a button, as on Enter, nothing is recorded.
func (s *Server) postAssess(w http.ResponseWriter, r *http.Request) {
	v, err := s.readForm(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if as := cleanWho(v.Get("as")); as != "" { // the answer to who records it
		v.Set("who", as)
		v.Set("do", "record")
		remember(w, whoCookie, as)
	}
	at := cmp.Or(setCode(v), "verdict") // where the page opens anew
	switch v.Get("do") {
	case "record":
		s.record(w, r, v)
		return
	case "drop":
		if err := s.drafts.drop(v.Get("draft")); err != nil {
			s.fail(w, r, err)
			return
		}
		http.Redirect(w, r, "/assess?new=1", http.StatusSeeOther)
		return
	case "label":
		err, at = s.sameLabel(r, v), "g-label"
	case "part":
		err, at = s.takePart(v), "g-label"
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := s.keep(r, v)
	if x.Entry > 0 {
		http.Redirect(w, r, donePath(x.Entry), http.StatusSeeOther)
		return
	}
	if err != nil {
		s.showForm(w, r, x, &form{Faults: []string{words(err)}}, http.StatusOK)
		return
	}
	http.Redirect(w, r, "/assess?draft="+x.ID+"#"+at, http.StatusSeeOther)
}

// setCode does what a button of a reason does: it writes the reason into its field.
func setCode(v url.Values) (id string) {
	name, code, ok := strings.Cut(v.Get("set"), "=")
	if _, isField := triage.FieldByName(name); !ok || !isField {
		return ""
	}
	v.Set(name, code)
	return "f-" + name
}

// sameLabel fills the label facts that are blank with those of the last cell
// recorded at this bench.
func (s *Server) sameLabel(r *http.Request, v url.Values) error {
	given, _, err := s.desk.LastLabel(s.bench(r))
	for _, g := range given {
		if name := triage.Fields[g.Field].Name; strings.TrimSpace(v.Get(name)) == "" {
			v.Set(name, g.Text)
		}
	}
	return err
}

// takePart takes over what part memory offers. The form names the fields, so that the
// entry says that nobody read them off this cell.
func (s *Server) takePart(v url.Values) error {
	o, err := s.desk.OfferPart(givenOf(v))
	if err != nil || o == nil {
		return err
	}
	filled, fields := o.Take(givenOf(v))
	for _, g := range filled {
		if name := triage.Fields[g.Field].Name; slices.Contains(fields, name) {
			v.Set(name, g.Text)
		}
	}
	v["frompart"] = append(v["frompart"], fields...)
	return nil
}

// keep keeps what was typed as a draft. A form that is older than its draft, as of a
// second window, becomes a draft of its own. The draft that is returned holds what
// was typed even where it could not be written.
func (s *Server) keep(r *http.Request, v url.Values) (*draft, error) {
	defer s.writes.lock(v.Get("draft"))()
	now := s.desk.Now()
	x := &draft{ID: v.Get("draft"), Bench: s.bench(r), Begun: now, Changed: now, Values: kept(v), Now: now}
	if !draftID.MatchString(x.ID) {
		x.ID = newDraftID()
	}
	const here = "what you typed stands on this page only: %w"
	old, err := s.drafts.get(x.ID)
	if err != nil {
		return x, fmt.Errorf(here, err)
	}
	another := v.Get("again") != "" // somebody said that it is not the cell of the entry like it
	switch {
	case old == nil:
	case old.Entry > 0:
		return old, nil
	case reflect.DeepEqual(old.Values, x.Values) && !another:
		return old, nil
	case fmt.Sprint(old.Rev) != v.Get("rev"):
		x.ID = newDraftID()
	case another:
		x.Rev, x.Begun = old.Rev, old.Begun
	default:
		x.Rev, x.Begun, x.Writing, x.Wrote = old.Rev, old.Begun, old.Writing, old.Wrote
	}
	if old == nil && len(x.Values) == 0 {
		return x, nil // nothing was typed
	}
	x.Rev++
	if err := s.drafts.put(x); err != nil {
		return x, fmt.Errorf(here, err)
	}
	return x, nil
}

// live answers the script: it keeps the draft and draws the verdict, and the faults
// for the fields.
func (s *Server) live(w http.ResponseWriter, r *http.Request) {
	v, err := s.readForm(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := s.keep(r, v)
	f := &form{draft: x}
	if err != nil {
		f.Faults = append(f.Faults, words(err))
	}
	if err := s.judge(r, f); err != nil {
		s.fail(w, r, err)
		return
	}
	s.part(w, "assess.html", "live", f)
}
