package triage

import (
	"errors"
	"fmt"
)

// A Storage is a rule of how much may stand where, of the place and edition that
// it names and of no other. It takes no part in judging a cell.
type Storage struct {
	Record
	About        string  `toml:"about"` // one of storageWords
	Jurisdiction string  `toml:"jurisdiction"`
	Edition      string  `toml:"edition"`
	Text         string  `toml:"text"`
	CuFt         float64 `toml:"cuft"`   // a volume is over when it is more than this; 0 for none
	Counts       string  `toml:"counts"` // which volume: total, or container
	// A question that the texts leave open, and who can answer it. It is never
	// answered here.
	Question string `toml:"question"`
	Ask      string `toml:"ask"`
}

var storageWords = []string{"amount", "container", "spacing", "lid", "plan", "charge", "outdoors", "temperature", "practice"}

// LitresPerCuFt converts the volumes of fire codes; the foot is 304.8 mm by
// definition.
const LitresPerCuFt = 28.316846592

// Storages returns the storage rules in force, in rulebook order.
func (rb *Rulebook) Storages() []*Storage { return rb.storages }

// Litres is the volume above which a store is over, 0 for none.
func (s *Storage) Litres() float64 { return s.CuFt * LitresPerCuFt }

func (s *Storage) compile(t *Table) error {
	errs := []error{s.Record.compile(t), s.noConditions()}
	_, err := word("about", s.About, storageWords)
	errs = append(errs, err)
	if s.Jurisdiction == "" || s.Edition == "" || s.Text == "" {
		errs = append(errs, errors.New("needs jurisdiction, edition and text"))
	}
	if s.CuFt < 0 || (s.CuFt > 0) != (s.Counts != "") {
		errs = append(errs, errors.New("cuft is above 0 and goes with counts"))
	}
	if s.Counts != "" {
		_, err = word("counts", s.Counts, []string{"total", "container"})
		errs = append(errs, err)
	}
	if (s.Question == "") != (s.Ask == "") {
		errs = append(errs, errors.New("a question says whom to ask, and nothing else does"))
	}
	return errors.Join(errs...)
}

func (s *Storage) outcome() string {
	text := fmt.Sprintf("%s (%s; %s)", s.Text, s.Jurisdiction, s.Edition)
	if s.Question != "" {
		text += " QUESTION " + s.Question + " Ask " + s.Ask + "."
	}
	return text
}
