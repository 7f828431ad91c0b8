package bench

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"
)

// record writes the entry of a form, once.
func (s *Server) record(w http.ResponseWriter, r *http.Request, v url.Values) {
	defer s.records.lock(v.Get("draft"))()
	x, err := s.keep(r, v)
	if x.Entry > 0 {
		http.Redirect(w, r, donePath(x.Entry), http.StatusSeeOther)
		return
	}
	f := &form{draft: x}
	if err != nil {
		f.Faults = append(f.Faults, words(err))
	}
	if stop := s.mayRecord(r, f, v); stop != nil {
		s.showForm(w, r, x, f, statusOf(stop))
		return
	}
	entry, err := s.write(r, f)
	if err != nil {
		x.Writing, x.Wrote = 0, nil
		_ = s.putDraft(x) // where this fails the draft asks what became of it
		f.Faults = append(f.Faults, words(err))
		if status := statusOf(err); status == http.StatusServiceUnavailable {
			w.Header().Set("Retry-After", "2")
		}
		s.showForm(w, r, x, f, statusOf(err))
		return
	}
	http.Redirect(w, r, donePath(entry), http.StatusSeeOther)
}

// errAsked is that a person must say something before an entry is written.
var errAsked = &statusError{http.StatusUnprocessableEntity, "asked"}

// mayRecord reports what stands in the way of an entry, and puts it on the form.
func (s *Server) mayRecord(r *http.Request, f *form, v url.Values) error {
	if len(givenOf(f.draft.Values)) == 0 {
		f.Faults = append(f.Faults, "Nothing was read yet: nothing was recorded.")
		return errAsked
	}
	if err := s.likeness(f); err != nil || f.Like > 0 {
		return cmp.Or(err, error(errAsked))
	}
	if v.Get("sure") == "" {
		f.Faults = append(f.Faults, "Not recorded yet: tick the box beside RECORD first. It keeps a scan from recording.")
		return errAsked
	}
	if err := s.judge(r, f); err != nil {
		return err
	}
	if f.faults["tag"] != "" {
		f.Faults = append(f.Faults, "Not recorded: the tag does not hold. Scan or type it again, or clear it to be given a new one.")
		return errAsked
	}
	if s.who(r) == "" {
		f.Faults, f.Asks = append(f.Faults, errWho.text), true
		f.AskWho, _ = s.desk.People(6)
		return errAsked
	}
	if said := strings.Join(f.refused, "\n"); said != "" && said != v.Get("anyway") {
		f.Faults = append(f.Faults, "Not recorded yet: what is refused below counts as not known. Mend it, or record it so.")
		f.Anyway = said
		return errAsked
	}
	return nil
}

// likeness looks for the entry that the form of a program that ended may have become.
func (s *Server) likeness(f *form) (err error) {
	if f.draft.Writing > 0 {
		f.Like, f.LikeTag, err = s.desk.Likeness(f.draft.Writing, f.draft.Bench, givenOf(f.draft.Wrote))
	}
	return err
}

// putDraft writes a draft while no other request of its form does.
func (s *Server) putDraft(x *draft) error {
	defer s.writes.lock(x.ID)()
	return s.drafts.put(x)
}

// putAsideDraft writes what became of a draft. It does not wait for the disk: should the
// power fail, the draft still says that it was being recorded.
func (s *Server) putAsideDraft(x *draft) error {
	defer s.writes.lock(x.ID)()
	return s.drafts.putAside(x)
}

// write writes the entry. The draft says so first: should the program end between
// the two, nobody records the cell again without being asked.
func (s *Server) write(r *http.Request, f *form) (int64, error) {
	if why := s.desk.ReadOnly(); why != nil {
		return 0, why
	}
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	if f.draft.Writing, err = s.desk.Log().Size(); err != nil {
		return 0, err
	}
	f.draft.Wrote = f.draft.Values
	if err := s.putDraft(f.draft); err != nil {
		f.Faults = append(f.Faults, words(err)) // the log counts more than the draft
	}
	rec := s.recording(r)
	a, err := rec.Judge(shop, s.mended(givenOf(f.draft.Values)))
	if err != nil {
		return 0, err
	}
	if err := s.fromPart(f, a); err != nil {
		return 0, err
	}
	receipt, err := rec.Record(a)
	if err != nil {
		return 0, err
	}
	if receipt.Clock != "" {
		s.say(receipt.Number, "The machine's clock stands behind the last entry ("+receipt.Clock+"); the entry says so. Set the clock.")
	}
	done := &draft{ID: f.draft.ID, Bench: f.draft.Bench, Begun: f.draft.Begun, Changed: s.desk.Now(), Entry: receipt.Number, Tag: a.Verdict.Tag}
	if err := s.putAsideDraft(done); err != nil {
		s.say(receipt.Number, "Recorded, but its draft could not be put away: "+words(err))
	}
	return receipt.Number, nil
}
