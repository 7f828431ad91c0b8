package app

import (
	"fmt"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Container is what holds cells in storage.
type Container struct {
	Tag      string `json:"-"`
	Kind     string `json:"kind"` // tin, bin, drum, bag, cabinet
	Material string `json:"material,omitempty"`
	VolumeL  string `json:"volume_l,omitempty"`
	TareG    string `json:"tare_g,omitempty"`
	Lid      string `json:"lid,omitempty"` // as approved locally: closed, vented or open
	Place    string `json:"place,omitempty"`
	Start    string `json:"start,omitempty"` // accumulation start written on it, where it is older than what the log knows
	Note     string `json:"note,omitempty"`
	Lot      *Lot   `json:"lot,omitempty"`
	Issued   bool   `json:"issued,omitempty"`
}

// A Lot is a bin logged as count and mass, nothing else.
type Lot struct {
	Count int64  `json:"count"`
	MassG string `json:"mass_g,omitempty"`
}

// Lids are how a container may be closed; which is right is asked locally.
var Lids = []string{"closed", "vented", "open"}

// check reads the quantities of a container into a state.
func (x *Container) check(today triage.Date) (s logbook.State, err error) {
	if x.Place, err = placeName("--place", x.Place); err != nil {
		return s, err
	}
	for _, q := range []struct {
		name, text, unit string
		to               *int64
	}{{"--volume-l", x.VolumeL, "L", &s.MilliLitr}, {"--tare-g", x.TareG, "g", new(int64)}} {
		if q.text == "" {
			continue
		}
		m, err := parseAmount(q.name, q.text, q.unit)
		if err != nil {
			return s, err
		}
		*q.to = int64(m / 1000) // thousandths
	}
	if x.Lid != "" && x.Lid != "closed" && x.Lid != "vented" && x.Lid != "open" {
		return s, Usage("--lid %q is none of %s", x.Lid, strings.Join(Lids, ", "))
	}
	if x.Start != "" {
		d, err := triage.ParseDate(x.Start)
		if err != nil {
			return s, Usage("--start %q: %v", x.Start, err)
		}
		if err := notAhead("--start", d, today); err != nil {
			return s, err
		}
		s.Start, s.StartBy = d.String(), "stated"
	}
	s.Place, s.What = x.Place, strings.TrimPrefix(strings.TrimSpace(x.Material+" "+x.Kind), " ")
	return s, nil
}

// parseAmount reads a quantity above zero with or without its unit.
func parseAmount(name, text, unit string) (triage.Micro, error) {
	m, err := triage.ParseQuantity(text, unit, false)
	if err != nil {
		return 0, Usage("%s %q: %v", name, text, err)
	}
	if m <= 0 || m > 1e6*triage.One {
		return 0, Usage("%s %q: use a number in %s above 0, at most 1000000", name, text, unit)
	}
	return m, nil
}

// AddContainer records a container and issues a tag where it has none.
func (r *Recording) AddContainer(shop *Shop, act Act, x Container) (*Outcome, error) {
	if x.Kind == "" {
		return nil, Usage("say what it is: --kind tin")
	}
	s, err := x.check(triage.DateOf(r.now()))
	if err != nil {
		return nil, err
	}
	return r.onContainer(shop, act, &x, func(tx *logbook.Tx, o *Outcome, known bool) error {
		if known {
			return Usage("container %s is on record already (%s, %s); move it, or take another tag", triage.SpacedTag(o.Tag), o.Was.What, o.Was.Place)
		}
		o.Is = s
		return nil
	})
}

// Lot records a bin of cells as count and mass: held, condition undetermined,
// until each was assessed. A count of 0 says that none is left unassessed.
func (r *Recording) Lot(shop *Shop, act Act, x Container) (*Outcome, error) {
	var mass triage.Micro
	if x.Lot.Count < 0 || x.Lot.Count > 1_000_000 {
		return nil, Usage("--count %d: use a number from 0 to 1000000", x.Lot.Count)
	}
	if x.Lot.MassG != "" {
		var err error
		if mass, err = parseAmount("--mass-g", x.Lot.MassG, "g"); err != nil {
			return nil, err
		}
	}
	s, err := x.check(triage.DateOf(r.now()))
	if err != nil {
		return nil, err
	}
	at := r.at(act.Happened)
	return r.onContainer(shop, act, &x, func(tx *logbook.Tx, o *Outcome, known bool) error {
		was := o.Was
		if !known {
			was = s
		}
		o.Is = was
		if x.Place != "" {
			o.Is.Place = x.Place
		}
		o.Is.Count, o.Is.MilliGram = x.Lot.Count, int64(mass/1000)
		o.Is.Handling, o.Is.Condition, o.Is.Size, o.Is.Waste = "", "", "", ""
		if x.Lot.Count == 0 {
			if o.Is.StartBy != "stated" {
				o.Is.Start, o.Is.StartBy = "", ""
			}
			return nil
		}
		o.Is.Handling, o.Is.Condition = triage.Hold.String(), triage.Undetermined.String()
		if beside, worst, err := contents(tx, shop, o.Tag, nil); err != nil {
			return err
		} else if beside > 0 && worst >= triage.Isolate && was.Count == 0 {
			return Usage("%s holds an isolated cell, which stands alone: take another container for the lot", triage.SpacedTag(o.Tag))
		}
		// An incident may have put it up; counting anew shows no cell quiet, nor does
		// emptying it and filling it again. Another lot takes another container.
		if err := worstLot(tx, o.Tag, &o.Is); err != nil {
			return err
		}
		o.Is.Size, o.Is.Waste = triage.SizeUnknown.String(), triage.WasteUnknown.String()
		o.Is.Looked = at
		if was.Count == 0 || was.Since.IsZero() {
			o.Is.Since = at
		}
		switch {
		case s.Start != "" && (o.Is.Start == "" || s.Start < o.Is.Start):
			o.Is.Start, o.Is.StartBy = s.Start, s.StartBy
		case o.Is.Start == "":
			o.Is.Start, o.Is.StartBy = at.Format("2006-01-02"), "recorded"
		}
		return nil
	})
}

// worstLot puts a lot up to the worst class that the container ever had as one.
func worstLot(tx *logbook.Tx, tag string, s *logbook.State) error {
	list, err := tx.History(tag)
	if err != nil {
		return err
	}
	for _, e := range list {
		states, err := e.Now()
		if err != nil {
			return err
		}
		for i := range states {
			was := &states[i]
			h, _ := triage.HandlingByName(was.Handling)
			if now, _ := triage.HandlingByName(s.Handling); was.Tag == tag && was.Count > 0 && h > now {
				s.Handling, s.Condition = was.Handling, was.Condition
			}
		}
	}
	return nil
}

// onContainer writes an entry about a container; fn fills in what it becomes.
func (r *Recording) onContainer(shop *Shop, act Act, x *Container, fn func(tx *logbook.Tx, o *Outcome, known bool) error) (*Outcome, error) {
	tag := ""
	if x.Tag != "" {
		var err error
		if tag, err = ReadTag(x.Tag); err != nil {
			return nil, err
		}
		if kind, _ := triage.TagNumber(tag); kind != triage.ContainerTag {
			return nil, Usage("%s is the tag of a %s; a container's has %d symbols", triage.SpacedTag(tag), kind, triage.ContainerTag.Length())
		}
	}
	o := &Outcome{Shop: shop}
	err := r.log.Write(func(tx *logbook.Tx) (err error) {
		if x.Issued = tag == ""; x.Issued {
			if tag, err = tx.IssueTag(triage.ContainerTag); err != nil {
				return err
			}
		}
		o.Tag = tag
		h, known, err := tx.HeldAs(tag)
		if err != nil {
			return err
		}
		o.Was = h.State
		s, err := shipmentOfPackage(tx, tag)
		if err == nil && s != nil {
			err = Usage("%s is a package of shipment %s (pouchward ship show %s)", triage.SpacedTag(tag), triage.SpacedTag(s.tag()), tag)
		}
		if err != nil {
			return err
		}
		if err := fn(tx, o, known); err != nil {
			return err
		}
		o.Is.Tag, o.Is.Is = tag, logbook.Here
		d, err := r.draft(nil, act, "container", x, tag)
		if err != nil {
			return err
		}
		d.Now = []logbook.State{o.Is}
		return o.append(tx, d)
	})
	if err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return o, nil
}
