package bench

import (
	"net/http"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

// mended are the values with the tag as it is stored, where it was mended.
func (s *Server) mended(given []app.Given) []app.Given {
	for i := range given {
		if given[i].Field == triage.Tag {
			if scan, err := app.ReadCellScan(s.desk.Log(), given[i].Text); err == nil {
				given[i].Text = scan.Tag
			}
		}
	}
	return given
}

// judge fills the verdict of a form. An emergency does not wait for the log.
func (s *Server) judge(r *http.Request, f *form) error {
	shop, err := s.desk.Shop()
	if err != nil {
		return err
	}
	given := givenOf(f.draft.Values)
	f.Typed = len(given) > 0
	f.Command = app.CommandLine(given, "--record")
	f.faults = map[string]string{}
	for _, g := range given {
		if g.Field == triage.Tag {
			f.readTag(app.ReadCellScan(s.desk.Log(), g.Text))
		}
	}
	given = s.mended(given)
	a := app.Assess(shop, given)
	if a.Verdict.Handling != triage.Emergency {
		if a, err = s.recording(r).Judge(shop, given); err != nil && f.faults["tag"] == "" {
			f.faults["tag"] = words(err)
		}
	}
	if a.Verdict.Handling != triage.Emergency { // its card waits for nothing more
		if err := s.fromPart(f, a); err != nil {
			return err
		}
	}
	f.refused = a.Refused
	f.sortFaults()
	f.Panel = s.desk.Panel(a)
	return nil
}

// fromPart marks what was taken over from part memory, and reads what it offers.
func (s *Server) fromPart(f *form, a *app.Assessment) error {
	given := givenOf(f.draft.Values)
	x, err := s.desk.TookOver(given, f.draft.Values["frompart"])
	if err != nil {
		return err
	}
	x.Mark(a)
	o, err := s.desk.OfferPart(given)
	if o != nil {
		f.Part, f.Takes = o.Says(), len(o.Facts) > 0
	}
	return err
}

// readTag puts beside the scan field what became of a scan.
func (f *form) readTag(scan app.Scan, err error) {
	if err != nil {
		f.faults["tag"] = words(err) + ". Judged by the readings alone."
		return
	}
	f.Says = scan.Says
}

// sortFaults puts each refusal beside its field.
func (f *form) sortFaults() {
	for _, text := range f.refused {
		name, reason, _ := strings.Cut(text, " ")
		if _, ok := triage.FieldByName(name); ok && f.faults[name] == "" {
			f.faults[name] = exports.Clean(reason)
		}
	}
}
