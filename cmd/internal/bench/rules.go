package bench

import (
	"net/http"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) ruleRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /rules", s.getRules)
	mux.HandleFunc("GET /rules/{id}", s.getRule)
}

// A rulesView is the screen on which rules are looked for.
type rulesView struct {
	Text, Route, Kind string
	Routes            []choice
	Groups            []ruleGroup
	Count, Of         int
	On, Digest        string
	Command           string
}

type ruleGroup struct {
	Title, Edition string
	Rules          []triage.Explained
}

func (s *Server) getRules(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	x, err := s.rules(strings.TrimSpace(q.Get("q")), q.Get("route"), q.Get("kind"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, page{Title: "Rules", Screen: "/rules", File: "rules.html", Data: x})
}

// rules finds the rules whose id or title has every word of a text.
func (s *Server) rules(text, route, kind string) (*rulesView, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return nil, err
	}
	rb := shop.Rulebook
	list, err := rb.Explained(route)
	if err != nil {
		return nil, app.Usage("route %q %v", exports.Clean(cut(route, 40)), err)
	}
	x := &rulesView{Text: text, Route: route, Kind: kind, Of: len(list), On: rb.On.String(), Digest: rb.Digest[:12], Command: app.Command("rules", "list")}
	x.Routes = []choice{{"route", "", "every route", route == ""}}
	for _, name := range triage.RouteNames() {
		x.Routes = append(x.Routes, choice{"route", name, name, name == route})
	}
	if route != "" {
		x.Command = app.Command("rules", "list", "--route", route)
	}
	for i := range list {
		e := &list[i]
		if kind != "" && e.Kind != kind || !hasWords(e.ID+" "+e.Title, text) {
			continue
		}
		if n := len(x.Groups); n == 0 || x.Groups[n-1].Title != e.Instrument {
			x.Groups = append(x.Groups, ruleGroup{Title: e.Instrument, Edition: e.Edition})
		}
		g := &x.Groups[len(x.Groups)-1]
		g.Rules = append(g.Rules, *e)
		x.Count++
	}
	return x, nil
}

func hasWords(in, text string) bool {
	in = strings.ToLower(in)
	for _, word := range strings.Fields(strings.ToLower(text)) {
		if !strings.Contains(in, word) {
			return false
		}
	}
	return true
}

// A ruleView is one rule whole.
type ruleView struct {
	ID      string
	Rows    []exports.PanelRow
	Command string
}

func (s *Server) getRule(w http.ResponseWriter, r *http.Request) {
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	e, err := app.ExplainRule(shop, r.PathValue("id"))
	if err != nil {
		s.fail(w, r, &statusError{http.StatusNotFound, err.Error()})
		return
	}
	s.show(w, r, page{Title: e.ID, Screen: "/rules", File: "rule.html", Data: ruleView{e.ID, exports.RuleRows(e), app.Command("rules", "explain", e.ID)}})
}
