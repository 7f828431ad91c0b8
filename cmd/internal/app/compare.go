package app

import (
	"errors"
	"io"

	"pouchward/cmd/internal/intake"
	"pouchward/triage"
)

// A Comparison is what differs between the rules of two days.
type Comparison struct {
	From  string              `json:"from"`
	To    string              `json:"to"`
	Rules []triage.RuleChange `json:"rules"`
	Cells []CellChange        `json:"cells"`
	Rows  int                 `json:"rows"` // cells compared
}

// A CellChange is one cell whose answers differ.
type CellChange struct {
	Row     int                   `json:"row"`
	Tag     string                `json:"tag"`
	Changes []triage.AnswerChange `json:"changes"`
}

// Compare lists the rules that change between two days and, given a sheet, the
// cells whose answers change. The rules are the embedded ones, whatever the house
// file says.
func Compare(from, to, file, sheetName string, stdin io.Reader, mapping map[string]string) (*Comparison, error) {
	tables, err := triage.Embedded()
	if err != nil {
		return nil, err
	}
	day := func(flag, text string) (triage.Date, *triage.Rulebook, error) {
		d, err := triage.ParseDate(text)
		if err != nil {
			return 0, nil, Usage("%s %q: %v", flag, text, err)
		}
		rb, err := tables.On(d)
		if err != nil {
			return 0, nil, Usage("%s: %v", flag, err)
		}
		return d, rb, nil
	}
	d1, rb1, err := day("--from", from)
	if err != nil {
		return nil, err
	}
	d2, rb2, err := day("--to", to)
	if err != nil {
		return nil, err
	}
	c := &Comparison{From: from, To: to, Rules: tables.CompareDays(d1, d2), Cells: []CellChange{}}
	if c.Rules == nil {
		c.Rules = []triage.RuleChange{}
	}
	if file == "" {
		return c, nil
	}
	sheet, err := openSheet(file, stdin, sheetName, mapping, nil, nil)
	if err != nil {
		return nil, err
	}
	return c, errors.Join(c.sheet(sheet, rb1, rb2), sheet.Close())
}

func (c *Comparison) sheet(sheet *intake.Sheet, rb1, rb2 *triage.Rulebook) error {
	var row intake.Row
	var v1, v2 triage.Verdict
	k := triage.Case{}
	for {
		if err := sheet.Next(&row); err != nil {
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		c.Rows++
		sheet.Read(&row, &k.Reading)
		k.On = rb1.On
		judgeRow(rb1, &k, &v1, row.Written)
		k.On = rb2.On
		judgeRow(rb2, &k, &v2, row.Written)
		if changes := v1.Changed(&v2); len(changes) > 0 {
			c.Cells = append(c.Cells, CellChange{Row: c.Rows, Tag: v1.Tag, Changes: changes})
		}
	}
}
