package app

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/hazard"
)

// A HazardAsk says of what and in which room the hazard is asked; texts are as
// typed. The cells come from a sheet, from Count and Wh, or from the log.
type HazardAsk struct {
	File     string // "-" is Stdin; blank: none
	Stdin    io.Reader
	Sheet    string
	Map      map[string]string
	Each     bool // every row of the sheet stands in a container of its own
	Count    string
	Wh       string // of each of them
	Place    string // of the log; blank: every place
	RoomM3   string
	Changes  string // air changes an hour
	Under    string // id of a limit
	OpenLog  func(func(*logbook.Log) error) error
	Refusals []string // filled: what of the sheet was refused
}

// underDefault is the limit that is asked about where none is named.
const underDefault = "hf-niosh-idlh"

// Hazard screens what stands together.
func Hazard(shop *Shop, ask *HazardAsk) (*hazard.Screen, error) {
	figures, err := hazard.FiguresOf(shop.Rulebook)
	if err != nil {
		return nil, err
	}
	s := &hazard.Screen{On: shop.Rulebook.On, Figures: figures, Storages: shop.Rulebook.Storages()}
	if s.Room, err = ask.room(); err != nil {
		return nil, err
	}
	if err := ask.under(s); err != nil {
		return nil, err
	}
	typed := ask.Count != "" || ask.Wh != ""
	switch {
	case typed && (ask.File != "" || ask.Place != "" || ask.Each):
		return nil, Usage("--cells and --wh say what stands there: give them, or a sheet, or --place of the log")
	case ask.File != "" && ask.Place != "":
		return nil, Usage("a sheet does not say where its cells stand: --place is for the log")
	case ask.Each && ask.File == "":
		return nil, Usage("--each is for a sheet: it puts every row into a container of its own")
	case typed:
		s.Stand, s.Of, err = ask.typed(figures)
	case ask.File != "":
		s.Stand, err = ask.sheet(shop, figures)
		s.Of = "the cells of " + ask.File
		if ask.File == "-" {
			s.Of = "the cells of standard input"
		}
	default:
		s.Of = "everything on record in the shop"
		if ask.Place != "" {
			s.Of = "what is on record at " + ask.Place
		}
		err = ask.OpenLog(func(l *logbook.Log) error {
			s.Stand, err = standOf(l, figures, shop.Rulebook.On, ask.Place)
			return err
		})
	}
	if err != nil {
		return nil, err
	}
	return s, nil
}

// room reads the room; nil for none.
func (a *HazardAsk) room() (*hazard.Room, error) {
	if a.RoomM3 == "" {
		if a.Changes != "" {
			return nil, Usage("--air-changes needs --room-m3: air is changed in a room")
		}
		return nil, nil
	}
	m3, err := triage.ParseQuantity(a.RoomM3, "m3", false)
	if err != nil {
		return nil, Usage("--room-m3 %q: %v; give length x width x height in metres, such as 50", a.RoomM3, err)
	}
	r := &hazard.Room{M3: float64(m3) / 1e6}
	if a.Changes != "" {
		n, err := triage.ParseQuantity(a.Changes, "", false)
		if err != nil {
			return nil, Usage("--air-changes %q: %v; give air changes an hour, such as 2", a.Changes, err)
		}
		r.AirChanges = float64(n) / 1e6
	}
	if err := r.Check(); err != nil {
		return nil, &ExitError{ExitUsage, err}
	}
	return r, nil
}

// under finds the limit asked about.
func (a *HazardAsk) under(s *hazard.Screen) error {
	id := cmp.Or(a.Under, underDefault)
	var ids []string
	for _, g := range s.Figures.Gases() {
		for _, l := range g.Limits {
			ids = append(ids, l.ID)
			if l.ID == id {
				s.Gas, s.Under = g, l
				return nil
			}
		}
	}
	if near := triage.Nearest(id, ids); near != "" {
		return Usage("--under %q: no such limit, did you mean %s?", id, near)
	}
	return Usage("--under %q: no such limit; there are %s", id, strings.Join(ids, ", "))
}

// Bounds of what may be typed: beyond them a figure was mistyped.
const (
	mostTyped = 100_000
	mostWh    = 100_000 * triage.One
)

// typed makes one container of cells of one size.
func (a *HazardAsk) typed(f *hazard.Figures) (*hazard.Stand, string, error) {
	n := 1
	if a.Count != "" {
		var err error
		if n, err = strconv.Atoi(strings.TrimSpace(a.Count)); err != nil || n < 1 || n > mostTyped {
			return nil, "", Usage("--cells %q: give a whole number from 1 to %d", a.Count, mostTyped)
		}
	}
	if a.Wh == "" {
		return nil, "", Usage("--cells %d of which size? give the watt-hour rating of one, such as --wh 15.4", n)
	}
	wh, err := triage.ParseQuantity(a.Wh, "Wh", false)
	if err != nil {
		return nil, "", Usage("--wh %q: %v; give the rating of one cell, such as 15.4", a.Wh, err)
	}
	if wh <= 0 || wh > mostWh {
		return nil, "", Usage("--wh %q: a cell has more than 0 and at most %s Wh", a.Wh, mostWh)
	}
	g := hazard.Group{}
	for range n {
		g.Add(f, hazard.Cells{Count: 1, Wh: wh})
	}
	of := fmt.Sprintf("one cell of %s Wh", wh)
	if n > 1 {
		of = fmt.Sprintf("%d cells of %s Wh in one container", n, wh)
	}
	return &hazard.Stand{Groups: []hazard.Group{g}}, of, nil
}
