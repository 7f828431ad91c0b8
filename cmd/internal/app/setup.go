package app

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"pouchward/exports"
	"pouchward/exports/label"
	"pouchward/exports/pdf"
	"pouchward/logbook"
	"pouchward/triage"
)

// The files of a set-up.
const (
	houseName = "house.toml"
	wallName  = "wall-sheet.txt"
	dayName   = "day-sheet.txt"
	tagsName  = "tags.txt"
	printName = "sheets.pdf"
)

// MostTags bounds a block: a year of a busy bench, and one entry of the log.
const MostTags = 400

// A SetupPlan says what is set up where.
type SetupPlan struct {
	Dir   string
	Log   LogPlace
	Tags  int
	Print bool // the sheets as one PDF too
}

// Now is the machine's clock.
func (p *SetupPlan) Now() time.Time { return p.Log.Now() }

// A Made says what a set-up made.
type Made struct {
	Files  []string // house file, wall sheet, day sheet, tags, and the PDF of them where it was asked
	Log    string
	Public string // of the key of a new log; blank when the log was there
	Block  []string
	Entry  int64 // that reserves the block
	Open   int   // keys of the house file that were not answered
}

// SetUp asks about the shop and writes its files, all or none. What is in the
// way is said before the first question.
func SetUp(p *SetupPlan, in io.Reader, out io.Writer) (*Made, error) {
	fresh, err := p.check()
	if err != nil {
		return nil, err
	}
	given, err := askShop(p, in, out)
	if err != nil {
		return nil, fmt.Errorf("reading the answers: %w; nothing was written", err)
	}
	return p.write(given, fresh)
}

// check finds what would stop the writing, and whether the log is to be made.
func (p *SetupPlan) check() (fresh bool, err error) {
	if p.Tags < 1 || p.Tags > MostTags {
		return false, Usage("--tags %d: a block has 1 to %d tags", p.Tags, MostTags)
	}
	for _, dir := range []string{p.Dir, filepath.Dir(p.Log.Path)} {
		if err := canWrite(dir); err != nil {
			return false, err
		}
	}
	names := []string{houseName, wallName, dayName, tagsName}
	if p.Print {
		names = append(names, printName)
	}
	for _, n := range names {
		if n = filepath.Join(p.Dir, n); taken(n) {
			return false, fmt.Errorf("%s is there already, and setup replaces nothing: edit it, move it away, or name another folder (--dir)", n)
		}
	}
	key := logbook.KeyFile(p.Log.Path)
	switch {
	case taken(p.Log.Path):
		return false, WriteLog(p.Log, func(*logbook.Log) error { return nil })
	case taken(key):
		return false, fmt.Errorf("%s is there and its log is not: bring the log %s back, or move the key away", key, p.Log.Path)
	}
	return true, nil
}

// taken reports whether there is something under a name, a dangling link too.
func taken(name string) bool {
	_, err := os.Lstat(name)
	return !errors.Is(err, fs.ErrNotExist)
}

// canWrite reports why a folder takes no file.
func canWrite(dir string) error {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("setting up in %s: there is no such folder; make it first", dir)
	case err != nil:
		return fmt.Errorf("setting up in %s: %w", dir, err)
	case !info.IsDir():
		return fmt.Errorf("setting up in %s: it is a file; name a folder", dir)
	}
	f, err := os.CreateTemp(dir, ".pouchward-setup-*")
	if err != nil {
		return fmt.Errorf("setting up in %s: no file can be written there: %w", dir, err)
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}

// write makes the files under other names, reserves the tags, and then names
// the files: a crash between the two wastes tags, and never prints one twice.
func (p *SetupPlan) write(given answers, fresh bool) (*Made, error) {
	tables, err := triage.Embedded()
	if err != nil {
		return nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	text := houseText(given, p.Now())
	house, err := triage.ParseHouse(houseName, text, tables)
	if err != nil {
		return nil, fmt.Errorf("the answers do not make a house file; nothing was written: %w", err)
	}
	place := p.Log
	if err := place.shopClock(house.Shop.TimeZone); err != nil {
		return nil, fmt.Errorf("time_zone: %w", err)
	}
	m := &Made{Log: p.Log.Path}
	var files together
	defer files.drop()
	sheets := func() error { return p.sheets(&files, m, house.Shop, text, tables) }
	if fresh {
		temp, err := os.MkdirTemp(filepath.Dir(p.Log.Path), ".pouchward-setup-*")
		if err != nil {
			return nil, fmt.Errorf("making a log: %w", err)
		}
		defer os.RemoveAll(temp)
		place.Path = filepath.Join(temp, "log")
		if m.Public, err = newLog(place, house.Shop.Site); err != nil {
			return nil, err
		}
		files.adopt(logbook.KeyFile(place.Path), logbook.KeyFile(p.Log.Path))
		files.adopt(place.Path, p.Log.Path)
	}
	if err := reserve(place, logbook.Draft{}, p.Tags, m, sheets); err != nil {
		return nil, fmt.Errorf("%w; nothing was written", err)
	}
	if err := files.place(); err != nil {
		if !fresh {
			err = fmt.Errorf("%w; the tags of entry %d of the log stay reserved and are lost", err, m.Entry)
		}
		return nil, err
	}
	m.Open = given.open()
	return m, nil
}

// newLog makes a log and returns the public half of its key. A site that was not
// answered is named Shop: every entry names one.
func newLog(place LogPlace, site string) (public string, err error) {
	if site == "" {
		site = "Shop"
	}
	key, err := InitLog(place, site)
	return key.Public, err
}

// tagBlock is the body of the entry that reserves a block of tags.
type tagBlock struct {
	Subject string `json:"subject"`
	Issued  bool   `json:"issued"`
	Count   int    `json:"count"`
}

// reserve issues a block of tags that the log never issues again; by says who does
// and where. sheets runs before they are durable, so that a full disk reserves
// nothing.
func reserve(place LogPlace, by logbook.Draft, n int, m *Made, sheets func() error) error {
	body, err := logbook.MakeBody(tagBlock{"tag-block", true, n})
	if err != nil {
		return err
	}
	return WriteLog(place, func(l *logbook.Log) error {
		return l.Write(func(tx *logbook.Tx) error {
			for range n {
				tag, err := tx.IssueTag(triage.CellTag)
				if err != nil {
					return err
				}
				m.Block = append(m.Block, tag)
			}
			r, err := tx.Append(logbook.Draft{Kind: "record", Who: by.Who, Bench: by.Bench, Tags: m.Block, Body: body})
			if err != nil {
				return err
			}
			m.Entry = r.Number
			return sheets()
		})
	})
}

// sheets fills the house file and the three sheets.
func (p *SetupPlan) sheets(files *together, m *Made, shop triage.Shop, house []byte, tables triage.Tables) error {
	rb, err := tables.On(tables.Newest())
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{houseName, func(w io.Writer) error { _, err := w.Write(house); return err }},
		{wallName, exports.NewWallSheet(rb, shop).Text},
		{dayName, exports.NewDaySheet(shop.Site).Text},
		{tagsName, exports.NewTagSheet(shop.Site, m.Block).Text},
		{printName, func(w io.Writer) error { return printSheets(w, rb, shop, m.Block) }},
	} {
		if f.name == printName && !p.Print {
			continue
		}
		name := filepath.Join(p.Dir, f.name)
		m.Files = append(m.Files, name)
		if err := files.add(name, f.write); err != nil {
			return err
		}
	}
	return nil
}

// printSheets draws the wall sheet, the day sheet and the tags as one PDF.
func printSheets(w io.Writer, rb *triage.Rulebook, shop triage.Shop, block []string) error {
	s, err := newSheets(rb, shop)
	if err != nil {
		return err
	}
	d := &pdf.Doc{Title: "Shop sheets", On: rb.On, Foot: s.foot}
	paper := pdf.PaperOf(shop.Country)
	s.draw(d, paper, WallSheet, DaySheet)
	if err := label.Draw(d, label.NewStrip(block), paper); err != nil {
		return err
	}
	return d.Write(w)
}
