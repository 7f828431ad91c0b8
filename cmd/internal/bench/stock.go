package bench

import (
	"net/http"
	"net/url"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func (s *Server) stockRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /stock", s.getStock)
}

// mostStock is how many rows one page shows.
const mostStock = 500

// A stockView is the screen of what is in the shop.
type stockView struct {
	By       string
	At       string // as asked for
	Ways     []choice
	Report   *exports.StockReport
	Head     []stockCell
	Rows     []stockLine
	More     int
	Box      string // tag of the container that it keeps to
	Caution  string
	Command  string
	Headline string
}

// A stockLine is a row with where its words lead.
type stockLine struct {
	Cells []stockCell
	Class string
}

type stockCell struct {
	Text, Href string
	Right      bool
}

// stockAt is the page of what stands at a place or in a container.
func stockAt(at string) string { return "/stock?by=cell&at=" + url.QueryEscape(at) }

func (s *Server) getStock(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	by := q.Get("by")
	if !q.Has("by") {
		by = "place"
	}
	x, err := s.stock(by, q.Get("at"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, page{Title: "Stock", Screen: "/stock", File: "stock.html", Data: x})
}

func (s *Server) stock(by, at string) (*stockView, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return nil, err
	}
	report, err := app.ScreenedStock(shop, s.desk.Log(), triage.DateOf(s.desk.Now()), by, at)
	if err != nil {
		return nil, err
	}
	x := &stockView{By: by, At: at, Report: report, Caution: exports.StockCaution, Headline: report.Headline()}
	command := []string{"stock"}
	if by != "" {
		command = append(command, "--by", by)
	}
	if at != "" {
		command = append(command, "--at", at)
		if tag, kind, err := triage.CheckTag(at); err == nil && kind == triage.ContainerTag {
			x.Box = tag
		}
	}
	x.Command = app.Command(command...)
	for _, c := range []choice{{"by", "place", "By place", false}, {"by", "container", "By container", false}, {"by", "class", "By class", false}, {"by", "cell", "Each cell", false}, {"by", "", "All apart", false}} {
		c.On = c.Value == by
		x.Ways = append(x.Ways, c)
	}
	x.lines()
	return x, nil
}

// lines lays the rows out, with links from what has a page.
func (x *stockView) lines() {
	head, right, rows := x.Report.Table()
	for c, name := range head {
		x.Head = append(x.Head, stockCell{Text: name, Right: right[c]})
	}
	if len(rows) > mostStock {
		rows, x.More = rows[:mostStock], len(rows)-mostStock
	}
	for i, row := range rows {
		of := &x.Report.Rows[i]
		line := stockLine{Class: of.Handling}
		for c, text := range row {
			cell := stockCell{Text: text, Right: right[c]}
			switch {
			case head[c] == "TAG" && of.Tag != of.Container:
				cell.Href = cellPath(of.Tag, "")
			case head[c] == "PLACE" && of.Place != "":
				cell.Href = stockAt(of.Place)
			case head[c] == "CONTAINER" && of.Container != "":
				cell.Href = stockAt(of.Container)
			}
			line.Cells = append(line.Cells, cell)
		}
		x.Rows = append(x.Rows, line)
	}
}
