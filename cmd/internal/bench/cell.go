package bench

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/exports/chart"
	"pouchward/triage"
)

func (s *Server) cellRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /cell", s.findCell)
	mux.HandleFunc("GET /cell/{tag}", s.getCell)
	mux.HandleFunc("GET /chart/{tag}", s.getChart)
	for name, act := range map[string]cellAct{"recheck": (*Server).recheck, "raise": (*Server).raise, "secure": (*Server).secure, "move": (*Server).move} {
		mux.HandleFunc("POST /cell/{tag}/"+name, func(w http.ResponseWriter, r *http.Request) { s.postCell(w, r, name, act) })
	}
	s.changeRoutes(mux)
}

// cellPath is the page of a cell, at a part of it.
func cellPath(tag, part string) string {
	path := "/cell/" + url.PathEscape(tag)
	if part != "" {
		path += "#" + part
	}
	return path
}

// A cellView is the screen of one cell.
type cellView struct {
	*app.DeskCell
	Sheets map[string]*sheet
	Stands string // class and place in a line
	Gone   bool
	React  bool // nobody goes near it
	Rows   []exports.HistoryRow
	Steps  []choice
	Spots  app.Spots
	Away   string // place for isolated cells
	Chart  *app.CellChart
	Lines  []string // of the chart, in words
	Looks  []choice // entries that can be corrected
	Whole  []choice // and moved to another cell
	Undo   []choice // entries that can be taken back, the last first
	Fields []choice
	Slips  []choice // entries that were corrected or retracted
	Ups    []choice // conditions to put it up to
	Can    bool     // a determination can let go of something
	Signs  []choice
	Taken  []fieldView // readings of a recheck

	Entry   int64 // just recorded
	Notes   []string
	Faults  []string
	At      string // part with the fault
	Because string // where a refused move went
	Anyway  bool
}

// findCell opens the page of what was scanned or typed.
func (s *Server) findCell(w http.ResponseWriter, r *http.Request) {
	text := strings.TrimSpace(r.URL.Query().Get("tag"))
	if text == "" {
		s.show(w, r, page{Title: "Cell", Screen: "/cell", File: "find.html", Data: findView{}})
		return
	}
	scan, err := app.ReadScan(s.desk.Log(), text)
	if err != nil {
		s.show(w, r, page{Title: "Cell", Screen: "/cell", File: "find.html", Status: statusOf(err), Data: findView{cut(text, 40), words(err)}})
		return
	}
	path := cellPath(scan.Tag, "")
	switch scan.Kind {
	case triage.ContainerTag:
		path = stockAt(scan.Tag)
	case triage.ShipmentTag:
		path = "/pack"
	}
	http.Redirect(w, r, path, http.StatusSeeOther)
}

// A findView asks for a tag.
type findView struct{ Text, Fault string }

func (s *Server) getCell(w http.ResponseWriter, r *http.Request) { s.showCell(w, r, "", nil, nil) }

// showCell draws a cell. at is the part whose form was refused, with the fault and what
// was typed.
func (s *Server) showCell(w http.ResponseWriter, r *http.Request, at string, fault error, change func(*cellView)) {
	x, err := s.cell(r)
	if err != nil {
		if status := statusOf(err); status == http.StatusUnprocessableEntity {
			s.show(w, r, page{Title: "Cell", Screen: "/cell", File: "find.html", Status: http.StatusNotFound, Data: findView{cut(r.PathValue("tag"), 40), words(err)}})
			return
		}
		s.fail(w, r, err)
		return
	}
	if r.Method == http.MethodGet && r.PathValue("tag") != x.Tag {
		http.Redirect(w, r, cellPath(x.Tag, ""), http.StatusSeeOther) // by its own tag
		return
	}
	status := 0
	if fault != nil {
		x.At, status = at, statusOf(fault)
		x.Faults = append(x.Faults, words(fault))
	}
	if x.Entry, _ = strconv.ParseInt(r.URL.Query().Get("entry"), 10, 64); x.Entry > 0 {
		x.Notes = s.heard(x.Entry)
	}
	if change != nil {
		change(x)
	}
	x.fill(r)
	s.show(w, r, page{Title: triage.SpacedTag(x.Tag), Screen: "/cell", File: "cell.html", Status: status, Data: x})
}

// cell reads the cell of a path.
func (s *Server) cell(r *http.Request) (*cellView, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return nil, err
	}
	x := &cellView{}
	if x.DeskCell, err = s.desk.Cell(shop, r.PathValue("tag")); err != nil {
		return nil, err
	}
	x.draw(s.sheets(r), r)
	h := exports.History{Tag: x.Tag, Entries: x.Entries, Void: x.Void, Now: x.State}
	if x.Rows, err = h.Rows(); err != nil {
		return nil, err
	}
	slices.Reverse(x.Rows)
	x.Stands, x.Gone = exports.StateText(x.State), x.State.Is != "here"
	x.React = x.Verdict.Handling == triage.Emergency
	if shop.House != nil {
		x.Away = shop.House.Shop.IsolationPlace
	}
	if x.Spots, err = s.desk.Spots(); err != nil {
		return nil, err
	}
	if x.Chart, err = s.desk.CellChart(shop, x.Tag); err == nil {
		for i := range x.Chart.Trends {
			x.Lines = append(x.Lines, exports.TrendLine(&x.Chart.Trends[i])+". "+exports.TrendWhy(&x.Chart.Trends[i]))
		}
	} else {
		x.Lines = []string{"No chart: " + words(err)}
	}
	return x, nil
}

// cellParts are the forms of a cell's page, by the last part of their path.
var cellParts = []string{"recheck", "raise", "secure", "move", "correct", "wrong", "retract", "determine"}

// draw makes the forms of the page. A form that was sent to another tag of the cell is
// refused under that.
func (x *cellView) draw(all *sheets, r *http.Request) {
	page, tag := cellPath(x.Tag, ""), x.Tag
	if r.Method == http.MethodPost {
		tag = r.PathValue("tag")
	}
	x.Sheets = map[string]*sheet{"photo": all.of(page, "photo", attachPath, url.Values{"to": {x.Tag}})}
	for _, part := range cellParts {
		x.Sheets[part] = all.of(page, part, "/cell/"+tag+"/"+part, nil)
	}
}

// Sheet is the form of a part.
func (x *cellView) Sheet(part string) *sheet { return x.Sheets[part] }

// steps are the three that make a cell safe to keep, as ticked in a form or on record.
func steps(c *app.DeskCell, f *sheet) []choice {
	list := []choice{{"terminals", "yes", "Terminals insulated", c.Terminals}, {"bag", "yes", "One cell, one bag that is no metal", c.Bag},
		{"fill", "yes", "Dry fill that neither burns nor conducts", c.Fill}}
	for i := range list {
		list[i].On = list[i].On || f.Was(list[i].Name) != ""
	}
	return list
}

// fill makes the controls, with what was typed in a part before.
func (x *cellView) fill(r *http.Request) {
	x.Steps = steps(x.DeskCell, x.Sheet("secure"))
	typed := func(part, name string) string { return x.Sheet(part).Was(name) }
	f := &form{draft: &draft{Values: url.Values{}}, faults: map[string]string{}}
	for _, id := range []triage.FieldID{triage.CellC, triage.AmbientC, triage.ThicknessMm, triage.OcvV} {
		f.draft.Values.Set(triage.Fields[id].Name, typed("recheck", triage.Fields[id].Name))
		if x.Sheet("recheck").Filled() {
			for _, text := range app.Refusals([]app.Given{{Field: id, Text: typed("recheck", triage.Fields[id].Name)}}) {
				_, f.faults[triage.Fields[id].Name], _ = strings.Cut(exports.Clean(text), " ")
			}
		}
		x.Taken = append(x.Taken, f.field(id, false))
	}
	for i := triage.Swollen; i <= triage.Misused; i++ {
		d := &triage.Fields[i]
		x.Signs = append(x.Signs, choice{d.Name, d.Meaning, d.Label, x.Sheet("recheck").Has("sign", d.Name)})
	}
	asked := r.URL.Query().Get("of")
	for _, e := range slices.Backward(x.Entries) {
		if x.Void[e.Number] != 0 {
			continue
		}
		c := choice{"entry", strconv.FormatInt(e.Number, 10), fmt.Sprintf("%d: %s of %s", e.Number, e.Kind, e.Local(e.Happened).Format("01-02 15:04")), false}
		if e.Kind == "assessment" || e.Kind == "recheck" {
			look := c
			look.On = c.Value == asked || c.Value == typed("correct", "entry")
			x.Looks = append(x.Looks, look)
		}
		if e.Kind == "assessment" && len(e.Tags) == 1 {
			whole := c
			whole.On = c.Value == typed("wrong", "entry")
			x.Whole = append(x.Whole, whole)
		}
		if app.Retractable(e.Kind) {
			c.On = c.Value == asked || c.Value == typed("retract", "entry")
			x.Undo = append(x.Undo, c)
		}
	}
	x.Fields = []choice{{"field", "", "choose", false}}
	for i := range triage.Fields {
		if f := triage.FieldID(i); f != triage.Tag && f != triage.Who {
			d := &triage.Fields[i]
			x.Fields = append(x.Fields, choice{"field", d.Name, d.Label, typed("correct", "field") == d.Name})
		}
	}
	for _, n := range x.Mistakable {
		text := strconv.FormatInt(n, 10)
		x.Slips = append(x.Slips, choice{"mistaken", text, "Entry " + text + " was a slip", x.Sheet("determine").Has("mistaken", text)})
	}
	x.Ups = []choice{{"condition", "", "leave it", false}}
	for c := triage.Damaged; c < triage.Reacting; c++ {
		x.Ups = append(x.Ups, choice{"condition", c.String(), c.String(), typed("determine", "condition") == c.String()})
	}
	x.Can = slices.ContainsFunc(x.Holds, func(h exports.Hold) bool { return h.Can }) || len(x.Slips) > 0
}

// Reasons are why an entry was wrong, with the one chosen in a part.
func (f *sheet) Reasons() []choice {
	list := []choice{{"reason", "", "choose", false}}
	for _, reason := range app.ChangeReasons {
		list = append(list, choice{"reason", reason, strings.ReplaceAll(reason, "-", " "), reason == f.Was("reason")})
	}
	return list
}

// Criteria are the boxes of the criteria that were looked at.
func (f *sheet) Criteria() (list []choice) {
	for _, c := range app.Criteria {
		list = append(list, choice{"criteria", c.Letter, c.Letter + " " + c.Words, f.Has("criteria", c.Letter)})
	}
	return list
}

// getChart draws the readings of a cell.
func (s *Server) getChart(w http.ResponseWriter, r *http.Request) {
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	tag, ok := strings.CutSuffix(r.PathValue("tag"), ".svg")
	if !ok {
		s.fail(w, r, &statusError{http.StatusNotFound, "There is no such picture; a chart's name ends in .svg."})
		return
	}
	c, err := s.desk.CellChart(shop, tag)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	var b bytes.Buffer
	if err := chart.Cell(&b, c.Snapshot, c.Cell, c.Trends, "svg"); err != nil {
		s.fail(w, r, fmt.Errorf("drawing the chart: %w", err))
		return
	}
	send(w, 0, "image/svg+xml", b.Bytes())
}
