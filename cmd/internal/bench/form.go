package bench

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/triage"
)

// A group is a part of the form with the fields in it.
type group struct {
	ID, Title, Hint string
	Fields          []triage.FieldID
	Shut            bool // closed until somebody opens it
}

// groups are the form in the order in which readings are taken: no touch and
// decisive first. The scan field and the signs stand before them.
var groups = placed([]group{
	{ID: "warmth", Title: "Warmth", Hint: "Eyes first: no touch. Matt tape patch; shiny foil reads low.",
		Fields: []triage.FieldID{triage.CellC, triage.AmbientC, triage.HeatedMinAgo}},
	{ID: "lookup", Title: "Recall and fit", Fields: []triage.FieldID{triage.Recalled, triage.Fit, triage.Purpose}},
	{ID: "label", Title: "Label", Hint: "Of the whole pack, as printed.",
		Fields: []triage.FieldID{triage.Part, triage.Kind, triage.Chemistry, triage.Series, triage.Parallel, triage.NominalV, triage.RatedMah, triage.LabelWh}},
	{ID: "touch", Title: "By touch", Hint: "Not on a cell that the card says to isolate, or that reacts.",
		Fields: []triage.FieldID{triage.OcvV, triage.RestH, triage.Rocks, triage.ThicknessMm, triage.NominalThicknessMm}},
	{ID: "free", Title: "Ticket, device, note", Hint: "Never a customer's name.", Fields: []triage.FieldID{triage.Ticket, triage.Device, triage.Note}},
	{ID: "more", Title: "More readings", Shut: true},
	{ID: "each", Title: "One sign by itself", Hint: "Where one sign could not be looked for, say why. This counts more than the buttons above.", Shut: true},
})

// placed puts each field that no group names into one of the last two.
func placed(groups []group) []group {
	at := func(id string) *group {
		return &groups[slices.IndexFunc(groups, func(g group) bool { return g.ID == id })]
	}
	there := triage.FieldSet(0).With(triage.Tag).With(triage.Who).With(triage.Signs)
	for i := range groups {
		for _, f := range groups[i].Fields {
			there = there.With(f)
		}
	}
	for f := range triage.NumFields {
		switch {
		case there.Has(f):
		case triage.Fields[f].Sign:
			at("each").Fields = append(at("each").Fields, f)
		default:
			at("more").Fields = append(at("more").Fields, f)
		}
	}
	return groups
}

// A code is a reason why a reading is not there, as it is typed.
type code struct{ Code, Words string }

// codes are one tap each.
var codes = []code{{"?", "not yet"}, {"ni", "no tool"}, {"us", "unsafe"}, {"nr", "no reach"}, {"ur", "not legible"}}

// givenOf returns the values of a form, in field order. Values of several controls
// of one field all reach the judging, which knows what to make of two answers.
//
// A sign's button says only that the sign was seen. That the others were not
// seen is said by the button that says so: "looked".
func givenOf(v url.Values) (given []app.Given) {
	for f := range triage.NumFields {
		d := &triage.Fields[f]
		if f == triage.Who {
			continue // the person of the top bar
		}
		if f == triage.Signs {
			given = append(given, signsOf(v)...)
			continue
		}
		for _, text := range v[d.Name] {
			if strings.TrimSpace(text) != "" {
				given = append(given, app.Given{Field: f, Text: text})
			}
		}
	}
	return given
}

// signsOf reads the buttons of the signs.
func signsOf(v url.Values) (given []app.Given) {
	seen := v["sign"]
	switch looked := v.Get("looked"); {
	case looked == "yes" && len(seen) == 0:
		return []app.Given{{Field: triage.Signs, Text: "none"}}
	case looked == "yes":
		return []app.Given{{Field: triage.Signs, Text: strings.Join(seen, ";")}}
	case looked != "":
		given = append(given, app.Given{Field: triage.Signs, Text: looked})
	}
	for _, name := range seen {
		if f, ok := triage.FieldByName(name); ok && triage.Fields[f].Sign {
			given = append(given, app.Given{Field: f, Text: "yes"})
		} else {
			given = append(given, app.Given{Field: triage.Signs, Text: name}) // refused, and heard
		}
	}
	return given
}

// kept are the values of a form that a draft keeps: no control of the page.
func kept(v url.Values) url.Values {
	out := url.Values{}
	for name, list := range v {
		_, isField := triage.FieldByName(name)
		if !isField && name != "sign" && name != "looked" && name != "frompart" {
			continue
		}
		for _, text := range list {
			if text != "" {
				out[name] = append(out[name], text)
			}
		}
	}
	return out
}

// readForm reads a posted form within its limit.
func readForm(r *http.Request) (url.Values, error) {
	if err := r.ParseForm(); err != nil {
		return nil, formError(err)
	}
	return r.PostForm, nil
}

// posted reads a posted form and what its address is about. Where either cannot be had
// the answer has been given, and ok is false.
func posted[T any](s *Server, w http.ResponseWriter, r *http.Request, of func(*http.Request) (T, error)) (v url.Values, x T, ok bool) {
	v, err := s.readForm(w, r)
	if err == nil {
		x, err = of(r)
	}
	if err != nil {
		s.fail(w, r, err)
	}
	return v, x, err == nil
}
