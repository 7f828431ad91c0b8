package bench

import (
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"pouchward/cmd/internal/app"
)

// Drafts are forms that nobody has recorded yet. Each is one small file in a folder
// beside the log, LOG.drafts, written whole at every change, so that neither a crash
// of the server nor of the browser takes what was typed. A draft never becomes an
// entry by itself.
//
// A draft's name is also the number of its form. The file of one that was recorded
// stays, with the entry in it and no values, for keepDone: the same form sent a
// second time finds it and records nothing. One that was being recorded when the
// program ended says so in Writing; a person then says which it was.
type drafts struct{ dir string }

// A draft is one form as typed.
type draft struct {
	ID      string     `json:"id"`
	Rev     int        `json:"rev"` // counts its changes: an older page of the same form does not write over a newer
	Bench   string     `json:"bench"`
	Begun   time.Time  `json:"begun"`
	Changed time.Time  `json:"changed"`
	Values  url.Values `json:"values"`
	Writing int64      `json:"writing,omitempty"` // size of the log when recording began
	Wrote   url.Values `json:"wrote,omitempty"`   // the values then
	Entry   int64      `json:"entry,omitempty"`   // recorded as
	Tag     string     `json:"tag,omitempty"`     // of the cell recorded
	Form    string     `json:"form,omitempty"`    // number of a form that is no assessment (typed.go)
	Place   string     `json:"place,omitempty"`   // to what that belongs

	Now time.Time `json:"-"` // when it was read
}

// Limits of drafts, common practice. Only what is both beyond so many and older than
// keepOpen is cleared away: nothing that was typed of late is lost, however many there
// are, and the folder does not grow for ever.
const (
	mostDrafts = 200 // that nobody recorded, over all benches
	keepOpen   = 90 * 24 * time.Hour
	keepDone   = 48 * time.Hour
)

func draftsOf(log string) drafts { return drafts{log + ".drafts"} }

var draftID = regexp.MustCompile(`^[0-9a-f]{32}$`)

func newDraftID() string {
	var b [16]byte
	_, _ = rand.Read(b[:]) // it never fails
	return hex.EncodeToString(b[:])
}

func (d drafts) file(id string) string { return filepath.Join(d.dir, id+".json") }

// get reads a draft; nil is none of that name.
func (d drafts) get(id string) (*draft, error) {
	if !draftID.MatchString(id) {
		return nil, nil
	}
	f, err := os.Open(d.file(id))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("reading a draft: %w", err)
	}
	defer f.Close()
	x := &draft{}
	if err := json.NewDecoder(io.LimitReader(f, 4*maxForm)).Decode(x); err != nil || x.ID != id {
		return nil, fmt.Errorf("reading the draft %s: it is not as this program wrote it; it is left as it is", d.file(id))
	}
	return x, nil
}

// put writes a draft.
func (d drafts) put(x *draft) error {
	data, err := json.Marshal(x)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(d.dir, 0o700); err != nil {
		return fmt.Errorf("keeping a draft: %w", err)
	}
	return app.WriteWhole(d.file(x.ID), func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// putAside is put without waiting for the disk.
func (d drafts) putAside(x *draft) error {
	data, err := json.Marshal(x)
	if err != nil {
		return err
	}
	temp := filepath.Join(d.dir, "."+x.ID)
	if err := os.WriteFile(temp, data, 0o600); err != nil {
		return fmt.Errorf("putting a draft away: %w", errors.Join(err, os.Remove(temp)))
	}
	return app.Rename(temp, d.file(x.ID))
}

// drop throws a draft away.
func (d drafts) drop(id string) error {
	if !draftID.MatchString(id) {
		return nil
	}
	if err := os.Remove(d.file(id)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("throwing a draft away: %w", err)
	}
	return nil
}

// open lists the drafts of a bench that are not recorded, the newest first, and
// clears away what was recorded long ago, and what nobody took up in keepOpen where
// there are more than mostDrafts. A file that cannot be read is left out.
func (d drafts) open(bench string, now time.Time) (list []*draft) {
	names, err := os.ReadDir(d.dir)
	if err != nil {
		return nil
	}
	for _, f := range names {
		id, ok := strings.CutSuffix(f.Name(), ".json")
		if !ok || !draftID.MatchString(id) {
			continue
		}
		x, err := d.get(id)
		switch {
		case err != nil || x == nil:
		case x.Entry > 0 && now.Sub(x.Changed) > keepDone:
			_ = d.drop(id) // the next look tries again
		case x.Entry == 0:
			x.Now = now
			list = append(list, x)
		}
	}
	slices.SortFunc(list, func(a, b *draft) int { return b.Changed.Compare(a.Changed) })
	for len(list) > mostDrafts && now.Sub(list[len(list)-1].Changed) > keepOpen {
		_ = d.drop(list[len(list)-1].ID)
		list = list[:len(list)-1]
	}
	return slices.DeleteFunc(list, func(x *draft) bool { return x.Bench != bench })
}

// Age says how old a draft is: "draft of 14:02, 23 min old".
func (x *draft) Age() string {
	at := x.Changed.In(x.Now.Location())
	old := x.Now.Sub(x.Changed)
	switch {
	case old < time.Minute:
		return at.Format("draft of 15:04, just now")
	case old < 2*time.Hour:
		return fmt.Sprintf("draft of %s, %d min old", at.Format("15:04"), int(old.Minutes()))
	case old < 48*time.Hour:
		return fmt.Sprintf("draft of %s, %d h old", at.Format("2006-01-02 15:04"), int(old.Hours()))
	}
	return fmt.Sprintf("draft of %s, %d days old", at.Format("2006-01-02 15:04"), int(old.Hours()/24))
}
