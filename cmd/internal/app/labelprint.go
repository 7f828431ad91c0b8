package app

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/exports/label"
	"pouchward/exports/pdf"
	"pouchward/logbook"
	"pouchward/triage"
)

// A Print says on what and where something is printed.
type Print struct {
	Paper string // label, a4 or letter; blank is the usual one
	Out   string // file; blank is a name made of what is printed
	Path  string // filled: the file that was written
}

// RollPaper is the word for label stock.
const RollPaper = "label"

// paper reads the word for the paper; label stock has no name.
func (p *Print) paper(usual string) (pdf.Paper, error) {
	word := p.Paper
	if word == "" {
		word = usual
	}
	if word == RollPaper {
		return pdf.Paper{}, nil
	}
	paper, ok := pdf.PaperByName(word)
	if !ok {
		return paper, Usage("--paper %q: use %s (label stock), a4 or letter", word, RollPaper)
	}
	return paper, nil
}

// sheetPaper reads the word for the paper of something that fills a sheet.
func (p *Print) sheetPaper(shop *Shop) (pdf.Paper, error) {
	if p.Paper == RollPaper {
		return pdf.Paper{}, Usage("--paper label: this fills a sheet; use a4 or letter")
	}
	return p.paper(pdf.PaperOf(shop.facts().Country).Name)
}

// name settles the file's name and its kind, pdf or txt.
func (p *Print) name(usual string) (kind string, err error) {
	if p.Path = p.Out; p.Path == "" {
		p.Path = usual + ".pdf"
	}
	switch ext := strings.ToLower(filepath.Ext(p.Path)); ext {
	case ".pdf", ".txt":
		return ext[1:], nil
	}
	return "", Usage("--out %s: the name ends in .pdf or .txt", p.Out)
}

// facts are those of the house file, none without one.
func (s *Shop) facts() triage.Shop {
	if s.House == nil {
		return triage.Shop{}
	}
	return s.House.Shop
}

// PrintLabels writes labels to a file, whole or not at all, and returns in words what
// they are printed on.
func PrintLabels(shop *Shop, x *Labelled, p *Print) (on string, err error) {
	paper, err := p.paper(RollPaper)
	if err != nil {
		return "", err
	}
	usual := "label-" + x.Tags[0]
	if len(x.Tags) > 1 {
		usual = fmt.Sprintf("labels-%s-and-%d-more", x.Tags[0], len(x.Tags)-1)
	}
	kind, err := p.name(usual)
	if err != nil {
		return "", err
	}
	on = label.Sizes(x.List, paper)
	return on, WriteWhole(p.Path, func(w io.Writer) error {
		if kind == "txt" {
			return label.Text(w, x.List)
		}
		return label.Write(w, x.List, paper, shop.Rulebook.On, "Shop labels")
	})
}

// PrintStrip reserves a block of cell tags and writes it. The file is made under
// another name first, and never replaces one: a tag is not printed twice.
func PrintStrip(shop *Shop, place LogPlace, by logbook.Draft, n int, p *Print) (*Made, string, error) {
	if n < 1 || n > MostTags {
		return nil, "", Usage("--strip %d: a block has 1 to %d tags", n, MostTags)
	}
	paper, err := p.paper(RollPaper)
	if err != nil {
		return nil, "", err
	}
	if _, err := p.name("tags"); err != nil {
		return nil, "", err
	}
	if p.Out != "" && taken(p.Out) {
		return nil, "", fmt.Errorf("%s is there already, and tags are never printed over others: name another file (--out)", p.Out)
	}
	m := &Made{Log: place.Path}
	var files together
	defer files.drop()
	on := ""
	err = reserve(place, by, n, m, func() error {
		kind, err := p.name("tags-" + m.Block[0])
		if err != nil {
			return err
		}
		m.Files = []string{p.Path}
		list := label.NewStrip(m.Block)
		on = label.Sizes(list, paper)
		return files.add(p.Path, func(w io.Writer) error {
			if kind == "txt" {
				return exports.NewTagSheet(shop.facts().Site, m.Block).Text(w)
			}
			return label.Write(w, list, paper, shop.Rulebook.On, "Cell tags")
		})
	})
	if err != nil {
		return nil, "", fmt.Errorf("%w; no tag was reserved", err)
	}
	if err := files.place(); err != nil {
		return nil, "", fmt.Errorf("%w; the tags of entry %d of the log stay reserved and are lost", err, m.Entry)
	}
	return m, on, nil
}

// A MarkAsk says which words for a package are drawn, and how high.
type MarkAsk struct {
	Words    []string
	LetterMM string // blank is label.UsualMM
}

// PrintMarks writes words for packages at their true size.
func PrintMarks(shop *Shop, ask *MarkAsk, p *Print) error {
	paper, err := p.sheetPaper(shop)
	if err != nil {
		return err
	}
	known, err := label.Marks(shop.Rulebook)
	if err != nil {
		return err
	}
	var marks []*label.Mark
	for _, words := range ask.Words {
		m, err := label.FindMark(known, words)
		if err != nil {
			return Usage("--mark %q: %v", words, err)
		}
		marks = append(marks, m)
	}
	d := &pdf.Doc{Title: "Words for packages", On: shop.Rulebook.On}
	foot := fmt.Sprintf("Words for a package, judged for %s by rulebook %.12s. This sheet is no permission.", shop.Rulebook.On, shop.Rulebook.Digest)
	for _, m := range marks {
		mm, err := ask.height(m)
		if err != nil {
			return err
		}
		if err := label.DrawMark(d, paper, m, mm, foot); err != nil {
			return Usage("--mark: %v", err)
		}
	}
	kind, err := p.name("mark-" + slug(marks[0].Words))
	if err != nil {
		return err
	}
	if kind == "txt" {
		return Usage("--out %s: the size of these words is what counts, so they are written as .pdf alone", p.Path)
	}
	return WriteWhole(p.Path, d.Write)
}

// height is how high the letters of a mark are drawn, in mm.
func (a *MarkAsk) height(m *label.Mark) (float64, error) {
	mm := max(m.Least, label.UsualMM*triage.One)
	if a.LetterMM != "" {
		var err error
		if mm, err = triage.ParseQuantity(a.LetterMM, "mm", false); err != nil {
			return 0, Usage("--letters %q: %v", a.LetterMM, err)
		}
		if mm < m.Least || mm > 100*triage.One {
			return 0, Usage("--letters %q: %q takes letters of at least %s mm, and at most 100 mm are drawn", a.LetterMM, m.Words, m.Least)
		}
	}
	return float64(mm) / 1e6, nil
}

// slug makes a file name of words.
func slug(words string) string {
	parts := strings.FieldsFunc(strings.ToLower(words), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
	return strings.Join(parts[:min(len(parts), 4)], "-")
}

// The sheets for the wall and the bench.
const (
	WallSheet = "wall"
	DaySheet  = "day"
)

// PrintSheet writes the wall sheet or the blank day sheet.
func PrintSheet(shop *Shop, which string, p *Print) error {
	paper, err := p.sheetPaper(shop)
	if err != nil {
		return err
	}
	kind, err := p.name(which + "-sheet")
	if err != nil {
		return err
	}
	s, err := newSheets(shop.Rulebook, shop.facts())
	if err != nil {
		return err
	}
	return WriteWhole(p.Path, func(w io.Writer) error {
		if kind == "pdf" {
			d := &pdf.Doc{Title: "Shop sheets", On: shop.Rulebook.On, Foot: s.foot}
			s.draw(d, paper, which)
			return d.Write(w)
		}
		if which == DaySheet {
			return s.day.Text(w)
		}
		return errors.Join(s.wall.Text(w), s.lines.Text(w))
	})
}

// sheets are what a shop hangs up and fills in.
type sheets struct {
	wall  *exports.WallSheet
	lines *exports.Lines
	day   *exports.DaySheet
	foot  string
}

func newSheets(rb *triage.Rulebook, shop triage.Shop) (*sheets, error) {
	lines, err := exports.NewLines(rb)
	return &sheets{exports.NewWallSheet(rb, shop), lines, exports.NewDaySheet(shop.Site),
		fmt.Sprintf("Judged for %s by rulebook %.12s.", rb.On, rb.Digest)}, err
}

// draw adds the sheets of these kinds.
func (s *sheets) draw(d *pdf.Doc, paper pdf.Paper, which ...string) {
	if slices.Contains(which, WallSheet) {
		label.DrawWall(d, paper, s.wall, s.lines)
	}
	if slices.Contains(which, DaySheet) {
		label.DrawDay(d, paper, s.day)
	}
}
