package bench

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"

	"pouchward/cmd/internal/app"
)

// A form of a screen that has no draft bears a number of its own, so that one that is
// sent twice is recorded once. What became of it stands in a small file beside the
// drafts for as long as that of a draft that was recorded: a restart forgets nothing.

// newForm is the number of a form about to be drawn.
func newForm() string { return newDraftID() }

var formID = regexp.MustCompile(`^[0-9a-f]{32}$`)

// formKey is the name of the file of a form.
func formKey(number, path string) string {
	sum := sha256.Sum256([]byte(number + path))
	return hex.EncodeToString(sum[:16])
}

// forms are the numbers of the forms that were sent.
func (s *Server) forms() drafts { return drafts{filepath.Join(s.drafts.dir, "forms")} }

// once runs write, which records the posted form, unless this very form was recorded
// before; then it returns that entry and says so on its page. Two forms of one page
// are told apart by their path.
func (s *Server) once(r *http.Request, write func() (int64, error)) (entry int64, err error) {
	return s.onceAs(r, r.PostFormValue("form"), write)
}

// onceAs is once for a form whose number was read by other means.
func (s *Server) onceAs(r *http.Request, number string, write func() (int64, error)) (entry int64, err error) {
	if !formID.MatchString(number) {
		return 0, &statusError{http.StatusBadRequest, "This form has no number, so it could be recorded twice; nothing was recorded. Open the page again and send it from there."}
	}
	id := formKey(number, r.URL.Path)
	defer s.records.lock(id)()
	forms := s.forms()
	if strings.HasPrefix(id, "0") {
		forms.open("", s.desk.Now()) // clears away those of long ago, now and then
	}
	x, err := forms.get(id)
	switch {
	case err != nil:
		return 0, err
	case x != nil && x.Entry > 0:
		s.say(x.Entry, fmt.Sprintf("This form came a second time; it was recorded once, as entry %d. What differs in it is not recorded: say it anew.", x.Entry))
		return x.Entry, nil
	case x != nil:
		return 0, &statusError{http.StatusConflict, "This form was being recorded when the program ended. See what the log has now, then say what is missing in a new form."}
	}
	x = &draft{ID: id, Bench: s.bench(r), Begun: s.desk.Now(), Changed: s.desk.Now(), Writing: 1}
	if err := forms.put(x); err != nil {
		return 0, fmt.Errorf("nothing was recorded: %w", err)
	}
	if entry, err = write(); err != nil {
		_ = forms.drop(id) // what is sent again is a new attempt
		_ = s.keepTyped(r, number, r.URL.Path, r.PostForm)
		return 0, err
	}
	defer func() { _ = s.typed().drop(id) }() // should it stay, it is only offered
	x.Entry, x.Writing = entry, 0
	if err := forms.put(x); err != nil {
		s.say(entry, "Recorded; that it was could not be noted beside the log: "+words(err))
	}
	return entry, nil
}

// act is who did something; when is now.
func (s *Server) act(r *http.Request) app.Act { return app.Act{Who: s.who(r)} }

// asCommand says the command that would have written an entry.
func asCommand(who string, words ...string) string {
	if who != "" {
		words = append(words, "--who", who)
	}
	return asCommandWords + app.Command(words...)
}

// tell keeps for the next page what an outcome has to say, and the command.
func (s *Server) tell(o *app.Outcome, command string) int64 {
	last := o.Receipts[len(o.Receipts)-1]
	notes := append([]string{}, o.Notes...)
	for _, text := range o.Refused {
		notes = append(notes, "Recorded as not known: "+text)
	}
	for _, x := range o.Receipts {
		if x.Clock != "" {
			notes = append(notes, "The machine's clock stands behind the last entry ("+x.Clock+"); the entry says so. Set the clock.")
		}
	}
	s.say(last.Number, append(notes, command)...)
	return last.Number
}
