package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/triage"
	"pouchward/triage/review"
)

// A File is one file of a pack.
type File struct {
	Name  string // its path in the pack, with slashes
	Text  string // what it is
	Bytes int64
}

// A Pack is what the index of a folder of exports leads to.
type Pack struct {
	*Report
	Files    []File
	Attached []Attached // the files that entries name; nil: they were not asked for
	Left     []string   // what is not in the pack, and why
	Shelf    []exports.StockRow
}

// Attached is a file that an entry of the log names.
type Attached struct {
	Name, What, File string // File is its path in the pack, blank where it is not there
	Entry            int64
	Wrong            string // why it is not there
}

//go:embed index.html
var indexText string

var indexTemplate = template.Must(template.New("index").Parse(indexText))

// Index writes the page that opens a pack in a browser, from disk: no script, no
// request, one style.
func Index(w io.Writer, p *Pack) error {
	var buf bytes.Buffer
	if err := indexTemplate.Execute(&buf, p.page()); err != nil {
		return fmt.Errorf("writing the index: %w", err)
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// indexPage is what the template prints, cleaned.
type indexPage struct {
	Title, Site, On, Lead, Notice string
	Wrong                         []string
	Verified, Line, Rulebook      string
	Names, House                  string
	Counts                        []indexCount
	Files, Tables                 []indexFile
	Left                          []string
	Attached                      []Attached
	AnyAttached                   bool
	Shelf                         []indexPlace
	ShelfHead, ShelfNote          string
	Hazard                        string
	Care                          string
}

type indexCount struct {
	Head                 string
	Open, Answered, Past int
}

type indexFile struct{ Name, Text, Size string }

type indexPlace struct {
	Place string
	Rows  []indexCell
}

type indexCell struct{ Tag, Container, Class, Cells, Wh, Kg, Start, Days, Until string }

func (p *Pack) page() *indexPage {
	x := &indexPage{Title: clean("Log of " + p.Site + ", " + p.On.String()), Site: clean(p.Site), On: p.On.String(), Notice: clean(p.Notice), Line: p.Line, Rulebook: p.Rulebook, Names: clean(p.Names), House: clean(p.House), Care: triage.LocalFirst,
		Lead:     clean(fmt.Sprintf("%s, as the log stood on %s. Made for %s.", upperFirst(p.Period), p.AsOf.Format("2006-01-02 15:04"), p.On)),
		Verified: "The log verifies: every entry, hash, key, view and attached file was read and agrees with the others.", Left: cleanAll(p.Left), Wrong: cleanAll(p.Wrong)}
	if p.Beside != "" {
		x.Verified = clean("The log verifies: every entry, hash, key and view was read and agrees with the others. FILES BESIDE IT DO NOT: " + p.Beside + ".")
	}
	x.Wrong = append(x.Wrong, cleanAll(p.Besides)...)
	if p.Notice != "" {
		x.Verified = "THE LOG DOES NOT VERIFY: what follows may be wrong in any part."
	}
	for rank, c := range p.counts() {
		x.Counts = append(x.Counts, indexCount{exports.SeverityHeads[rank], c.open, c.answered, c.past})
	}
	for _, f := range p.Files {
		line := indexFile{f.Name, clean(f.Text), sizeText(f.Bytes)}
		if strings.HasPrefix(f.Name, "csv/") || strings.HasPrefix(f.Name, "jsonl/") {
			x.Tables = append(x.Tables, line)
		} else {
			x.Files = append(x.Files, line)
		}
	}
	x.AnyAttached = p.Attached != nil
	for _, a := range p.Attached {
		x.Attached = append(x.Attached, Attached{Name: clean(a.Name), What: clean(a.What), File: a.File, Entry: a.Entry, Wrong: clean(a.Wrong)})
	}
	x.shelf(p)
	return x
}

// shelf lists what is in the shop by place, with the day on which each began and the
// one on which the last step of the accumulation time is reached.
func (x *indexPage) shelf(p *Pack) {
	ages, last := map[string]*review.Age{}, 0
	x.ShelfNote = "Local law may be stricter."
	if p.Ages != nil {
		for i := range p.Ages.Cells {
			ages[p.Ages.Cells[i].Tag] = &p.Ages.Cells[i]
		}
		if n := len(p.Ages.Steps); n > 0 {
			step := p.Ages.Steps[n-1]
			last = step.Days
			x.ShelfNote = fmt.Sprintf("Past from: %s (%s). %s", step.By.Title, step.By.Source, x.ShelfNote)
		}
	}
	if p.Stock == nil {
		x.ShelfHead = "Cannot be read: the log does not verify. That is not to say that nothing is there."
		return
	}
	t := &p.Stock.Total
	x.ShelfHead = fmt.Sprintf("%s on %s, %s Wh, %s kg", exports.Count(t.Cells, "cell"), p.Stock.On, exports.SumText(t.Wh, 1, t.Unrated), exports.SumText(t.Kg, 3, t.Unweighed))
	x.ShelfNote = "+n: so many more without that figure. No clock: not waste by what was judged. " + x.ShelfNote
	if p.Stock.Hazard != nil {
		x.Hazard = clean(upperFirst(strings.TrimPrefix(p.Stock.Hazard.Text(), "HAZARD ")))
	}
	for i := range p.Shelf {
		r := &p.Shelf[i]
		place := clean(placeText(r.Place))
		at := slices.IndexFunc(x.Shelf, func(o indexPlace) bool { return o.Place == place })
		if at < 0 {
			x.Shelf = append(x.Shelf, indexPlace{Place: place})
			at = len(x.Shelf) - 1
		}
		c := indexCell{Tag: triage.SpacedTag(r.Tag), Container: clean(boxText(r)), Class: exports.HandlingText(r.Handling) + ", " + r.Condition, Cells: fmt.Sprint(r.Cells),
			Wh: exports.SumText(r.Wh, 1, r.Unrated), Kg: exports.SumText(r.Kg, 3, r.Unweighed), Start: startText(r.Oldest)}
		if a := ages[r.Tag]; a != nil && last > 0 {
			c.Days, c.Until = fmt.Sprint(a.Days), (a.Start + triage.Date(last)).String()
		}
		x.Shelf[at].Rows = append(x.Shelf[at].Rows, c)
	}
}

func clean(s string) string { return exports.Clean(strings.ToValidUTF8(s, "\uFFFD")) }

func cleanAll(list []string) (out []string) {
	for _, s := range list {
		out = append(out, clean(s))
	}
	return out
}

// sizeText is a size for the reader.
func sizeText(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d B", n)
	case n < 1_000_000:
		return fmt.Sprintf("%.0f kB", float64(n)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1_000_000)
}
