package app

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
	_ "time/tzdata" // the zones of house files, on machines that have none

	"pouchward/exports"
	"pouchward/logbook"
)

// A LogPlace says which log, whose clock and which zone.
type LogPlace struct {
	Path string
	Site string // of the house file, blank without one
	logbook.Options
}

// PlaceLog returns the place of a log; house is the house file's name, blank
// for none. A house file's time zone is the shop's; else the machine's is.
func PlaceLog(path, house string, now func() time.Time) (LogPlace, error) {
	p := LogPlace{Path: path, Options: logbook.Options{Now: now}}
	if name := now().Location().String(); name != "Local" {
		p.Zone = name
	}
	if house == "" {
		return p, nil
	}
	h, _, err := CheckHouse(house)
	if err != nil {
		return p, err
	}
	p.Site = h.Shop.Site
	if err := p.shopClock(h.Shop.TimeZone); err != nil {
		return p, fmt.Errorf("the house file %s: time_zone: %w", house, err)
	}
	return p, nil
}

// shopClock has the clock show the time of a zone, blank for the machine's.
func (p *LogPlace) shopClock(zone string) error {
	if zone == "" {
		return nil
	}
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return err
	}
	now := p.Now
	p.Zone, p.Now = loc.String(), func() time.Time { return now().In(loc) }
	return nil
}

// InitLog makes a log and returns its key.
func InitLog(p LogPlace, site string) (logbook.Key, error) {
	if site == "" {
		site = p.Site
	}
	if site == "" {
		return logbook.Key{}, Usage("name the site, which stands in every entry: --site \"Back room\", or site in the house file")
	}
	l, key, err := logbook.Create(p.Path, site, p.Options)
	if err != nil {
		return key, err
	}
	return key, l.Close()
}

// ReadLog runs fn on a log opened for reading.
func ReadLog(p LogPlace, fn func(*logbook.Log) error) error {
	l, err := logbook.OpenReader(p.Path, p.Options)
	if err != nil {
		return err
	}
	defer l.Close()
	return fn(l)
}

// WriteLog runs fn on a log opened for writing.
func WriteLog(p LogPlace, fn func(*logbook.Log) error) error {
	l, err := logbook.Open(p.Path, p.Options)
	if err != nil {
		return err
	}
	return errors.Join(fn(l), l.Close())
}

// Held names what a log is held against when it is verified.
type Held struct {
	Checkpoints []string // files
	Papers      []string // paper lines
	Keys        []string // public keys
}

// Progress is told how far a verification is; nil is told nothing.
type Progress struct {
	Entries func(n, of int64)
	Files   func(n, of int64) // bytes of attachments
}

// VerifyLog verifies a log; what does not verify is ErrLogFails.
func VerifyLog(p LogPlace, held Held, progress Progress) (*logbook.Report, error) {
	opt := logbook.VerifyOptions{Keys: held.Keys, Progress: progress.Entries, Files: progress.Files, Busy: p.Busy}
	for _, name := range held.Checkpoints {
		cp, err := readCheckpoint(name)
		if err != nil {
			return nil, err
		}
		opt.Checkpoints = append(opt.Checkpoints, cp)
	}
	for _, line := range held.Papers {
		paper, err := logbook.ParsePaper(line)
		if err != nil {
			return nil, Usage("--paper: %v", err)
		}
		opt.Papers = append(opt.Papers, paper)
	}
	for _, key := range held.Keys {
		if err := logbook.CheckPublicKey(key); err != nil {
			return nil, Usage("--key: %v", err)
		}
	}
	r, err := logbook.Verify(p.Path, opt)
	if errors.Is(err, logbook.ErrNoLog) {
		return nil, err
	}
	if err != nil {
		return nil, &ExitError{ExitLog, err}
	}
	if !r.Verified() {
		return r, ErrLogFails
	}
	return r, nil
}

// OpenVerified opens a log as it is now and verifies it; entry, where it is not nil, is
// told each entry on the way (logbook.VerifyOptions). What does not verify is for the
// caller to look at.
func OpenVerified(p LogPlace, progress Progress, entry func(*logbook.Entry)) (*logbook.Log, *logbook.Report, error) {
	l, r, err := logbook.OpenVerified(p.Path, p.Options, logbook.VerifyOptions{Progress: progress.Entries, Files: progress.Files, Most: mostTroubles, Entry: entry})
	if err != nil && !errors.Is(err, logbook.ErrNoLog) {
		err = &ExitError{ExitLog, err}
	}
	return l, r, err
}

// maxNoteBytes bounds a checkpoint file.
const maxNoteBytes = 1 << 20

func readCheckpoint(name string) (*logbook.Checkpoint, error) {
	data, err := readSmall(name, maxNoteBytes)
	if err != nil {
		return nil, fmt.Errorf("reading a checkpoint: %w", err)
	}
	cp, err := logbook.ParseCheckpoint(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return cp, nil
}

// BackupLog copies a log with its attachments. An attachment that is not as the
// log says is left out, and the error says that the rest is copied.
func BackupLog(p LogPlace, name string) (c *logbook.Copied, err error) {
	err = ReadLog(p, func(l *logbook.Log) error {
		c, err = l.Backup(name)
		return err
	})
	if err == nil && len(c.Left) > 0 {
		err = &ExitError{ExitLog, fmt.Errorf("the log is copied without what is not as it says: %s (pouchward log verify)", exports.Count(int64(len(c.Left)), "attachment"))}
	}
	return c, err
}

// SignLog returns a checkpoint of the log as it is now.
func SignLog(p LogPlace) (cp *logbook.Checkpoint, key logbook.Key, err error) {
	err = ReadLog(p, func(l *logbook.Log) error {
		cp, key, err = signNow(l)
		return err
	})
	return cp, key, err
}

// signNow takes the size before the key, so that no key signs a tree in which
// another process has put a new one in its place.
func signNow(l *logbook.Log) (*logbook.Checkpoint, logbook.Key, error) {
	size, err := l.Size()
	if err != nil {
		return nil, logbook.Key{}, err
	}
	key, err := l.SigningKey()
	if err != nil {
		return nil, key, err
	}
	cp, err := l.Checkpoint(size, key)
	return cp, key, err
}

// RenewKey makes a new key for the log and writes the entry that names it.
func RenewKey(p LogPlace, who, why string) (key logbook.Key, r logbook.Receipt, err error) {
	err = WriteLog(p, func(l *logbook.Log) error {
		key, r, err = l.NewKey(logbook.Draft{Who: who}, why)
		return err
	})
	return key, r, err
}

// ProveEntry writes a proof that the log holds entry n now.
func ProveEntry(p LogPlace, n int64, w io.Writer) error {
	return ReadLog(p, func(l *logbook.Log) error {
		cp, key, err := signNow(l)
		if err != nil {
			return err
		}
		return l.ProveEntry(w, n, cp, key)
	})
}

// ProveGrowth writes a proof that the log only added to the one of a checkpoint
// file.
func ProveGrowth(p LogPlace, since string, w io.Writer) error {
	old, err := readCheckpoint(since)
	if err != nil {
		return err
	}
	return ReadLog(p, func(l *logbook.Log) error {
		cp, key, err := signNow(l)
		if err != nil {
			return err
		}
		if err := l.ProveGrowth(w, old.Tree, cp, key); err != nil {
			return &ExitError{ExitLog, err}
		}
		return nil
	})
}

// CheckProof checks a proof file, which needs no log.
func CheckProof(name string, keys []string) (*logbook.Proven, error) {
	data, err := readSmall(name, 4<<20)
	if err != nil {
		return nil, fmt.Errorf("reading the proof: %w", err)
	}
	proven, err := logbook.CheckProof(data, keys)
	if err != nil {
		return nil, &ExitError{ExitLog, fmt.Errorf("%s: %w", name, err)}
	}
	return proven, nil
}

// LogName is the log of a flag, of the environment, or the usual one of the
// working folder.
func LogName(flag string) string { return LogNameIn(flag, "") }

// LogNameIn is the same with the usual one of another folder.
func LogNameIn(flag, dir string) string {
	if flag != "" {
		return flag
	}
	if name := os.Getenv("POUCHWARD_LOG"); name != "" {
		return name
	}
	return filepath.Join(dir, "pouchward.db")
}
