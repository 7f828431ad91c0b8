package bench

import (
	"net/http"
	"strconv"
	"time"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) dueRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /due", s.getDue)
}

// mostDue is how many lines of a section a person reads at once.
const mostDue = 15

// A dueView is the screen of what is owed.
type dueView struct {
	Now      string
	Days     int
	Sections []dueSection
	Rules    []exports.PanelRow // by which rule
	All      bool
	Command  string
}

type dueSection struct {
	exports.DueSection
	Lines []dueLine
	More  int
}

// A dueLine is one thing that is owed, and the screen that sees to it.
type dueLine struct {
	*exports.DueRow
	Href, Words string // blank: on the command line alone
}

func (s *Server) getDue(w http.ResponseWriter, r *http.Request) {
	days, err := 14, error(nil)
	if text := r.URL.Query().Get("days"); text != "" {
		if days, err = strconv.Atoi(text); err != nil {
			s.fail(w, r, app.Usage("days %q: use a number from 0 to 366", cut(text, 20)))
			return
		}
	}
	d, err := s.due(days, r.URL.Query().Has("all"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, page{Title: "Due", Screen: "/due", File: "due.html", Data: d})
}

func (s *Server) due(days int, all bool) (*dueView, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return nil, err
	}
	now := s.desk.Now()
	list, err := app.Due(shop, s.desk.Log(), now, days)
	if err != nil {
		return nil, err
	}
	d := &dueView{Now: now.Format("15:04"), Days: days, All: all, Command: app.Command("due", "--days", strconv.Itoa(days))}
	told := map[string]bool{}
	for _, part := range exports.DueSections(list) {
		x := dueSection{DueSection: part}
		for i, row := range part.Rows {
			if i == mostDue && !all {
				x.More = len(part.Rows) - i
				break
			}
			x.Lines = append(x.Lines, dueLineOf(row, now))
			if row.Rule != "" && !told[row.Rule+row.Source] {
				told[row.Rule+row.Source] = true
				d.Rules = append(d.Rules, exports.PanelRow{Label: row.Rule, Text: row.Source})
			}
		}
		d.Sections = append(d.Sections, x)
	}
	return d, nil
}

// dueLineOf finds the screen that sees to what is owed.
func dueLineOf(row *exports.DueRow, now time.Time) dueLine {
	if at := row.When; triage.DateOf(at) == triage.DateOf(now) && len(row.At) > len(time.DateOnly) {
		same := *row
		same.At = at.Format("today 15:04")
		row = &same
	}
	x := dueLine{DueRow: row}
	kind, isTag := tagKind(row.Tag)
	switch {
	case row.What == "rulebook":
		x.Href, x.Words = "/rules", "Open the rules"
	case row.What == "local-rule":
		x.Href, x.Words = "/rules?kind=local", "Read the questions"
	case !isTag:
	case kind == triage.ContainerTag:
		x.Href, x.Words = stockAt(row.Tag), "Show what is in it"
	case kind == triage.ShipmentTag:
		x.Href, x.Words = "/pack", "Open the shipments"
	case row.What == "recheck":
		x.Href, x.Words = cellPath(row.Tag, "recheck"), "Look again"
	case row.What == "secured":
		x.Href, x.Words = cellPath(row.Tag, "secure"), "Insulate and bag it"
	default:
		x.Href, x.Words = cellPath(row.Tag, ""), "Open the cell"
	}
	return x
}

// tagKind is the kind of a text that is a tag.
func tagKind(text string) (triage.TagKind, bool) {
	_, kind, err := triage.CheckTag(text)
	return kind, err == nil
}
