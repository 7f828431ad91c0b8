package app

import (
	"context"
	"fmt"
	"strings"
	"time"

	"pouchward/logbook"
)

// What a desk knows of its log besides the entries: whether it may be written here,
// and whether it verifies. Somebody who looks at figures all day must be told.

// ReadOnly is why nothing can be recorded on this desk, nil where it can.
func (d *Desk) ReadOnly() error { return d.readOnly }

// openLog opens the log for writing, or for reading where that is all that its place
// allows.
func (d *Desk) openLog() (err error) {
	if d.log, err = logbook.Open(d.Place.Path, d.Place.Options); err == nil {
		d.readOnly = d.log.CanWrite()
		return nil
	}
	if !logbook.IsReadOnly(err) {
		return err
	}
	d.readOnly = err
	d.log, err = logbook.OpenReader(d.Place.Path, d.Place.Options)
	return err
}

// LogNotices are what every screen says of the log, blank for nothing: damaged is that
// it does not verify, other what else limits it.
func (d *Desk) LogNotices() (damaged, other string) {
	if d.readOnly != nil {
		other = "This log can be read here and not written: nothing can be recorded, and no draft is kept where its folder cannot be written either. pouchward log backup copies it to where it can be."
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.checking {
		other = strings.TrimSpace(other + " The log is being verified; what stands here is not checked yet.")
	}
	if d.log.MovedOn() {
		return strings.TrimSpace(d.damaged + " " + movedOn), other
	}
	return d.damaged, other
}

// movedOn is said of a log that is read without locks.
const movedOn = "Somebody has written this log since it was opened here, where it can only be read. What stands here is old and is not to be relied on: end this program and start it again."

// Verify verifies the log and has every screen say what it found.
func (d *Desk) Verify() {
	d.mu.Lock()
	d.checking = d.checked.IsZero() // later looks leave what is known
	d.mu.Unlock()
	damaged := ""
	r, err := VerifyLog(d.Place, Held{}, Progress{})
	switch {
	case r != nil && !r.Verified():
		damaged = deskDamage(r)
	case err != nil:
		damaged = fmt.Sprintf("The log could not be verified: %v. What stands here is not to be relied on.", err)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.checking, d.checked, d.damaged = false, d.Now(), damaged
}

// deskDamage says what a verification found. A file beside the log that is missing or
// changed takes nothing away from the entries, as in a review.
func deskDamage(r *logbook.Report) string {
	const says = " pouchward log verify says what is wrong; keep the log as it is."
	for _, p := range r.Problems {
		if !p.File {
			return damageText(r) + says
		}
	}
	n := len(r.Problems) + r.More
	return fmt.Sprintf("FILES: attached files are missing or not as they were attached, %d in all, the first of entry %d. The entries themselves verify.", n, r.FirstBad) + says
}

// watchEvery is how often a desk looks whether a new day has begun, on which it verifies
// the log again. Not more often: that reads every attached file.
const watchEvery = time.Minute

// Watch verifies the log now and on every new day until the context ends. first is
// closed when that was done once.
func (d *Desk) Watch(ctx context.Context, first chan<- struct{}) {
	d.Verify()
	close(first)
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for day := d.Now().YearDay(); ; {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if today := d.Now().YearDay(); today != day {
			day = today
			d.Verify()
		}
	}
}
