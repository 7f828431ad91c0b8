package bench

import (
	"bytes"
	"net/http"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports/label"
	"pouchward/triage"
)

func (s *Server) printRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /print/emergency", func(w http.ResponseWriter, r *http.Request) {
		s.show(w, r, page{Title: "Emergency card", Screen: "", File: "printcard.html", Data: s.card})
	})
	mux.HandleFunc("GET /print/{tag}", s.getPrint)
	mux.HandleFunc("GET /code/{tag}", s.getCode)
}

// getCode sends the code of a tag as a picture. Whether it was ever given out makes no
// difference: the label that it stands on is refused by itself.
func (s *Server) getCode(w http.ResponseWriter, r *http.Request) {
	tag, ok := strings.CutSuffix(r.PathValue("tag"), ".png")
	var b bytes.Buffer
	if !ok || label.WriteCode(&b, tag) != nil {
		s.fail(w, r, &statusError{http.StatusNotFound, "There is no such code; its name is a tag and .png."})
		return
	}
	send(w, 0, "image/png", b.Bytes())
}

// A printView is a label to print from the browser.
type printView struct {
	Tag, Word, Verb, Class string
	What                   string   // of a container
	Words                  []string // of the waste law
	Start, DateNote        string
	Facts                  []label.Fact
	Look, AsOf, Care       string
	Container              bool
	Notes                  []string
	Rows                   []int // to write looks on
	NotMark                string
}

func (s *Server) getPrint(w http.ResponseWriter, r *http.Request) {
	shop, err := s.desk.Shop()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	x, err := app.Labels(shop, s.desk.Log(), []string{r.PathValue("tag")}, s.desk.Now())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := &printView{Notes: x.Notes, Care: triage.LocalFirst, NotMark: label.NotMark}
	switch l := x.List[0].(type) {
	case *label.Cell:
		v.Tag, v.Word, v.Verb, v.Class, v.Facts, v.Look, v.AsOf = l.Tag, l.Word, l.Verb, l.Class.String(), l.Facts, l.Look, l.AsOf
		v.Rows = make([]int, 3)
	case *label.Container:
		v.Tag, v.Word, v.Verb, v.Class, v.Facts, v.AsOf, v.What, v.Words, v.Start, v.DateNote = l.Tag, l.Word, l.Verb, l.Class.String(), l.Facts, l.AsOf, l.What, l.Words, l.Start, l.DateNote
		v.Container = true
		if l.Empty || l.Class < triage.Hold {
			v.Word, v.Verb, v.Class = "", "", ""
		}
	}
	s.show(w, r, page{Title: "Label " + triage.SpacedTag(v.Tag), Screen: "", File: "print.html", Data: v})
}

// Text is the facts' parts in one line.
func (v *printView) Text(f label.Fact) string { return strings.Join(f.Parts, "; ") }
