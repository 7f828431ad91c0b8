package bench

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) packRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /pack", s.getPack)
	mux.HandleFunc("GET /pack/{package}", s.getPackage)
	mux.HandleFunc("POST /pack/begin", s.beginPack)
	mux.HandleFunc("POST /pack/{package}/scan", s.scanPack)
	mux.HandleFunc("POST /pack/{package}/close", s.closePack)
	mux.HandleFunc("POST /pack/{package}/reopen", s.reopenPack)
	mux.HandleFunc("GET /papers/{tag}", s.getPapers)
}

func packPath(tag string, entry int64) string {
	path := "/pack/" + url.PathEscape(tag)
	if entry > 0 {
		path += "?entry=" + strconv.FormatInt(entry, 10)
	}
	return path
}

// A packList is the screen on which a package is chosen or begun.
type packList struct {
	Sheet     *sheet
	Packages  []app.PackageAt
	Shipments []choice // that a new package can join
	Routes    []choice
	Levels    []choice
	Faults    []string
	Command   string
}

func (x *packList) Was(name string) string { return x.Sheet.Was(name) }

func (s *Server) getPack(w http.ResponseWriter, r *http.Request) { s.showPack(w, r, nil) }

func (s *Server) showPack(w http.ResponseWriter, r *http.Request, fault error) {
	x := &packList{Sheet: s.sheets(r).of("/pack", "begin", "/pack/begin", nil), Command: app.Command("ship", "pack", "new", "new", "TAG", "--route", "us-highway", "--outer", "NAME,LEVEL,TARE_KG,MAX_KG")}
	var err error
	if x.Packages, err = app.OpenPackages(s.desk.Log()); err != nil {
		s.fail(w, r, err)
		return
	}
	x.Shipments = []choice{{"shipment", "new", "a new shipment", x.Was("shipment") == "" || x.Was("shipment") == "new"}}
	seen := map[string]bool{}
	for _, p := range x.Packages {
		if !seen[p.Shipment] {
			seen[p.Shipment] = true
			x.Shipments = append(x.Shipments, choice{"shipment", p.Shipment, triage.SpacedTag(p.Shipment) + ", " + p.Route, x.Was("shipment") == p.Shipment})
		}
	}
	for _, route := range triage.RouteNames() {
		x.Routes = append(x.Routes, choice{"route", route, route, x.Was("route") == route})
	}
	for _, level := range app.OuterLevels {
		words := map[string]string{"strong": "strong outer packaging", "pg2": "UN packaging, packing group II", "pg1": "UN packaging, packing group I"}[level]
		x.Levels = append(x.Levels, choice{"level", level, words, x.Was("level") == level})
	}
	status := 0
	if fault != nil {
		x.Faults, status = []string{words(fault)}, statusOf(fault)
	}
	s.show(w, r, page{Title: "Pack", Screen: "/pack", File: "pack.html", Status: status, Data: x})
}

// beginPack begins a package with its first cell, and the shipment where it is new.
func (s *Server) beginPack(w http.ResponseWriter, r *http.Request) {
	v, err := s.readForm(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	entry, box := int64(0), ""
	if v.Get("do") != "begin" {
		err = s.onlyFilled(r)
	} else {
		entry, err = s.once(r, func() (int64, error) {
			if err := s.needWho(r); err != nil {
				return 0, err
			}
			x := &app.Packing{Shipment: v.Get("shipment"), Package: "new", Route: v.Get("route"), Consignee: v.Get("consignee"), Place: strings.TrimSpace(v.Get("place")),
				Inner: v.Get("inner") != "", Fill: v.Get("fill") != ""}
			if x.Shipment != "new" {
				x.Route = ""
			}
			var err error
			if x.Outer, err = app.OuterText(v.Get("outer"), v.Get("level"), v.Get("tare"), v.Get("most"), v.Get("mark")); err != nil {
				return 0, err
			}
			n, p, err := s.packOne(r, x, v.Get("tag"))
			if err == nil {
				box = p.Package
			}
			return n, err
		})
	}
	if err != nil {
		s.showPack(w, r, err)
		return
	}
	if box == "" { // the form came a second time: its entry names the package
		e, err := s.desk.Log().Entry(entry)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		for _, tag := range e.Tags {
			if kind, _ := triage.TagNumber(tag); kind == triage.ContainerTag {
				box = tag
			}
		}
	}
	http.Redirect(w, r, packPath(box, entry), http.StatusSeeOther)
}

// packOne packs the cell of a scan.
func (s *Server) packOne(r *http.Request, x *app.Packing, text string) (int64, *app.PackScan, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, nil, err
	}
	begins := *x
	p, err := s.recording(r).PackScanned(shop, s.act(r), x, text)
	if err != nil || p.Twice {
		return 0, p, err
	}
	command := []string{"ship", "pack", begins.Shipment, begins.Package, p.Tag}
	for _, f := range [...][2]string{{"--route", begins.Route}, {"--outer", begins.Outer}} {
		if f[1] != "" {
			command = append(command, f[0], f[1])
		}
	}
	o := p.Outcome
	if p.Says != "" {
		o.Notes = append([]string{p.Says}, o.Notes...)
	}
	for _, text := range p.Begun {
		o.Notes = append(o.Notes, "Begun: "+text)
	}
	return s.tell(&o, asCommand(s.who(r), command...)), p, nil
}

// A packView is one package that is being packed.
type packView struct {
	Form     string // number of a scan
	Close    *sheet
	Reopen   *sheet
	Shipment *exports.Shipment
	Pack     *exports.ShipPackage
	Stage    string
	Holds    string
	AtHand   bool
	Packed   string // tag of the cell that the last scan packed
	Twice    string // one that was scanned twice
	Refused  string // why the last scan was refused
	Scan     string // what was scanned, where it was refused
	NoWho    bool   // nobody is remembered: the scan asks
	Ask      string // for a name; what was scanned stays
	Cell     string // page of that cell
	Notes    []string
	Faults   []string // of closing, or of opening again
	Command  string
}

func (x *packView) Was(name string) string { return x.Close.Was(name) }

// packageAt reads the package of a path.
func (s *Server) packageAt(r *http.Request) (*packView, error) {
	tag, kind, err := triage.CheckTag(r.PathValue("package"))
	if err != nil || kind != triage.ContainerTag {
		return nil, &statusError{http.StatusNotFound, "There is no such package; a package's tag has " + strconv.Itoa(triage.ContainerTag.Length()) + " symbols."}
	}
	ship, err := app.ShowShipment(s.desk.Log(), tag)
	if err != nil {
		return nil, err
	}
	forms := s.sheets(r)
	x := &packView{Form: newForm(), NoWho: s.who(r) == "", Close: forms.of(packPath(tag, 0), "close", packPath(tag, 0)+"/close", nil), Reopen: forms.of(packPath(tag, 0), "reopen", packPath(tag, 0)+"/reopen", nil), Shipment: ship, Stage: exports.StageText(ship.Stage)}
	for i := range ship.Packs {
		if ship.Packs[i].Tag == tag {
			x.Pack = &ship.Packs[i]
		}
	}
	if x.Pack == nil {
		return nil, &statusError{http.StatusNotFound, "That package is in no shipment that is at hand."}
	}
	for _, stage := range app.PackingStages {
		x.AtHand = x.AtHand || ship.Stage == stage
	}
	x.Holds = exports.HoldsText(x.Pack)
	x.Command = app.Command("ship", "pack", ship.Tag, tag, "TAG")
	return x, nil
}

func (s *Server) getPackage(w http.ResponseWriter, r *http.Request) { s.showPackage(w, r, nil) }

func (s *Server) showPackage(w http.ResponseWriter, r *http.Request, change func(*packView) int) {
	x, err := s.packageAt(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	status := 0
	if n, _ := strconv.ParseInt(r.URL.Query().Get("entry"), 10, 64); n > 0 && r.Method == http.MethodGet {
		x.Notes = s.heard(n)
		x.Packed = s.packedBy(n, x)
	}
	if change != nil {
		status = change(x)
	}
	s.show(w, r, page{Title: "Pack " + triage.SpacedTag(x.Pack.Tag), Screen: "/pack", File: "package.html", Status: status, Data: x})
}

// packedBy is the cell that an entry packed into the package, "" where it is another
// entry: an address that somebody made up says nothing.
func (s *Server) packedBy(n int64, x *packView) string {
	e, err := s.desk.Log().Entry(n)
	if err != nil || e.Kind != "shipment" || len(e.Tags) != 3 || e.Tags[1] != x.Pack.Tag {
		return ""
	}
	for _, tag := range x.Pack.Tags {
		if tag == e.Tags[2] {
			return tag
		}
	}
	return ""
}

// scanPack packs what was scanned, or says why not. It closes nothing and sends nothing
// off, whatever was scanned.
func (s *Server) scanPack(w http.ResponseWriter, r *http.Request) {
	v, x, ok := posted(s, w, r, s.packageAt)
	if !ok {
		return
	}
	text := strings.TrimSpace(v.Get("tag"))
	if text == "" {
		s.refused(w, r, "", app.Usage("nothing was scanned"))
		return
	}
	if err := s.needWho(r); err != nil { // no refusal of the cell: nobody puts it aside
		s.showPackage(w, r, func(x *packView) int { x.Ask, x.Scan = words(err), cut(text, 40); return statusOf(err) })
		return
	}
	twice := ""
	entry, err := s.once(r, func() (int64, error) {
		n, p, err := s.packOne(r, &app.Packing{Shipment: x.Shipment.Tag, Package: x.Pack.Tag}, text)
		if err == nil && p.Twice {
			twice = p.Tag
			return 0, errTwice
		}
		return n, err
	})
	switch {
	case twice != "":
		s.showPackage(w, r, func(x *packView) int { x.Twice = twice; return 0 })
	case err != nil:
		s.refused(w, r, text, err)
	default:
		http.Redirect(w, r, packPath(x.Pack.Tag, entry), http.StatusSeeOther)
	}
}

// errTwice is that nothing was to be written: the cell is in the package already.
var errTwice = &statusError{http.StatusOK, "scanned twice"}

// refused shows why a scan was refused, in large.
func (s *Server) refused(w http.ResponseWriter, r *http.Request, scan string, err error) {
	s.showPackage(w, r, func(x *packView) int {
		x.Refused, x.Scan = words(err), cut(scan, 40)
		if read, err := app.ReadCellScan(s.desk.Log(), scan); err == nil {
			x.Scan, x.Cell = triage.SpacedTag(read.Tag), cellPath(read.Tag, "")
		}
		return statusOf(err)
	})
}

// closePack closes a package: weighed, two people.
func (s *Server) closePack(w http.ResponseWriter, r *http.Request) {
	v, x, ok := posted(s, w, r, s.packageAt)
	if !ok {
		return
	}
	entry, err := int64(0), error(nil)
	if v.Get("do") == "close" {
		entry, err = s.once(r, func() (int64, error) { return s.close(r, x.Pack.Tag) })
	} else {
		err = s.onlyFilled(r)
	}
	if err != nil {
		s.showPackage(w, r, func(x *packView) int { x.Faults = []string{words(err)}; return statusOf(err) })
		return
	}
	http.Redirect(w, r, packPath(x.Pack.Tag, entry), http.StatusSeeOther)
}

func (s *Server) close(r *http.Request, tag string) (int64, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	v := r.PostForm
	x := app.Closing{Package: tag, GrossKg: v.Get("gross"), TareKg: v.Get("tare"), PackedBy: strings.TrimSpace(v.Get("packed")), CheckedBy: strings.TrimSpace(v.Get("checked")),
		Inner: v.Get("inner") != "", Fill: v.Get("fill") != "", Note: strings.TrimSpace(v.Get("note"))}
	if old, err := s.packageAt(r); err != nil {
		return 0, err
	} else if old.Pack.Inner && !x.Inner || old.Pack.Fill && !x.Fill {
		// What was said when it was begun is never taken back by closing: an entry would
		// say what the person who looked it over has just denied.
		return 0, app.Usage("not closed: it is on record that each cell is enclosed and cushioned as ticked at the beginning, and a tick was taken away. Put it right inside and tick it, or pack the cells anew into another package")
	}
	act := s.act(r)
	if act.Who == "" {
		act.Who = x.PackedBy
	}
	c, err := s.recording(r).ClosePackage(shop, act, x)
	if err != nil {
		return 0, err
	}
	o := c.Outcome
	o.Notes = append(c.Lines(), o.Notes...)
	return s.tell(&o, asCommand(act.Who, "ship", "close", tag, "--gross-kg", x.GrossKg, "--tare-kg", x.TareKg, "--packed-by", x.PackedBy, "--checked-by", x.CheckedBy)), nil
}
