package app

import (
	"fmt"
	"slices"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Check is one question of an inspection. Yes asks for nothing; what was not
// answered was not looked at.
type Check struct{ Name, Question string }

// Checks are what is looked at in a storage place: closed, sound, labelled and
// dated as 40 CFR 273.13 to 273.15 want of containers of waste batteries; the
// rest, and that somebody walks round at all, is common practice.
var Checks = []Check{
	{"closed", "closed, or open as approved locally"},
	{"sound", "containers sound"},
	{"labelled", "labelled"},
	{"dated", "dates on the labels"},
	{"alone", "nothing else stored there"},
	{"quiet", "no heat, no smell, no hiss"},
}

const notLooked = "not looked"

// An Inspection is what somebody saw at a place, or in a container.
type Inspection struct {
	Place   string            // or the tag of a container on record
	Checks  map[string]string // by Check.Name
	Found   *int64            // cells counted, nil: not counted
	Scanned []string          // tags read off the tapes, nil: not scanned
	VolumeL string            // of what stands there, as estimated on the spot
	Note    string
	Action  string // what was done about it
}

// inspectionBody is also what an inspection came to.
type inspectionBody struct {
	About    string            `json:"about"`
	Checks   map[string]string `json:"checks"`
	Found    *int64            `json:"found,omitempty"`
	Expected int64             `json:"expected"`          // by the log when it was written
	InLots   int64             `json:"in_lots,omitempty"` // of those, cells without a tag of their own
	Scanned  []string          `json:"scanned,omitempty"`
	Missing  []string          `json:"missing,omitempty"`
	Extra    []string          `json:"extra,omitempty"`
	VolumeL  string            `json:"volume_l,omitempty"`
	LogML    int64             `json:"containers_ml,omitempty"` // of the containers there whose volume is known
	Note     string            `json:"note,omitempty"`
	Action   string            `json:"action,omitempty"`

	isBox        bool              // what was inspected is a container
	boxes, cells []string          // tags that the log has there
	elsewhere    map[string]string // where the log has each extra tag
	places       []string          // that the log knows, where it has nothing here
}

// An Inspected is what an inspection came to.
type Inspected struct {
	inspectionBody
	Receipt logbook.Receipt
	Late    bool // it was made earlier than the count that it is held against
}

// body reads the answers of an inspection.
func (x *Inspection) body() (b inspectionBody, err error) {
	about, err := placeName("inspect", x.Place)
	if err != nil {
		return b, err
	}
	b = inspectionBody{About: about, Checks: map[string]string{}, VolumeL: x.VolumeL, Note: x.Note, Action: x.Action}
	switch {
	case b.About == "":
		return b, Usage("name the place that was looked at: pouchward inspect \"metal cabinet\"")
	case x.Found != nil && (*x.Found < 0 || *x.Found > 1_000_000):
		return b, Usage("--found %d: use a number of cells from 0 to 1000000", *x.Found)
	}
	b.Found = x.Found
	looked := x.Found != nil || x.Scanned != nil
	for _, c := range Checks {
		said, err := yesNo("--"+c.Name, x.Checks[c.Name])
		if err != nil {
			return b, err
		}
		if b.Checks[c.Name] = said; said == "" || said == "?" {
			b.Checks[c.Name] = notLooked
			continue
		}
		looked = true
	}
	if !looked {
		// It would count as the round of the week.
		return b, Usage("nothing was looked at and nothing counted, so nothing was recorded: answer a check (--closed yes), --found, --tags, or --ask")
	}
	if x.VolumeL != "" {
		if _, err := parseAmount("--volume-l", x.VolumeL, "L"); err != nil {
			return b, err
		}
	}
	return b, nil
}

// yesNo reads yes, no, ? or a blank.
func yesNo(name, text string) (string, error) {
	switch t := strings.ToLower(strings.TrimSpace(text)); t {
	case "yes", "no", "?", "":
		return t, nil
	case "y":
		return "yes", nil
	case "n":
		return "no", nil
	}
	return "", Usage("%s %q: answer yes, no or ?", name, text)
}

// Inspect records what was seen at a place, with what the log expects there.
func (r *Recording) Inspect(act Act, x Inspection) (*Inspected, error) {
	if err := act.needWho("an inspection"); err != nil {
		return nil, err
	}
	out := &Inspected{Late: !act.Happened.IsZero()}
	var err error
	if out.inspectionBody, err = x.body(); err != nil {
		return nil, err
	}
	scanned, err := readTags(splitTags(strings.Join(x.Scanned, ",")))
	if err != nil {
		return nil, err
	}
	err = r.log.Write(func(tx *logbook.Tx) error {
		b := &out.inspectionBody
		tags, err := b.expect(tx)
		if err != nil {
			return err
		}
		if x.Scanned != nil {
			if err := b.compare(tx, scanned); err != nil {
				return err
			}
		}
		d, err := r.draft(nil, act, "inspection", b, tags...)
		if err != nil {
			return err
		}
		out.Receipt, err = tx.Append(d)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("not recorded: %w", err)
	}
	return out, nil
}

// expect counts what the log has at the place; tags is the container that the
// place is.
func (b *inspectionBody) expect(tx *logbook.Tx) (tags []string, err error) {
	add := func(h *logbook.Held) error {
		kind, _ := triage.TagNumber(h.Tag)
		b.LogML += h.MilliLitr
		switch {
		case kind == triage.CellTag:
			b.cells = append(b.cells, h.Tag)
			b.Expected++
			return nil
		case kind == triage.ContainerTag:
			b.boxes = append(b.boxes, h.Tag)
		}
		b.Expected, b.InLots = b.Expected+h.Count, b.InLots+h.Count
		return nil
	}
	if tag, kind, err := triage.CheckTag(b.About); err == nil && kind == triage.ContainerTag {
		h, ok, err := tx.HeldAs(tag)
		if err != nil {
			return nil, err
		}
		if ok {
			b.About, b.isBox = tag, true
			_ = add(&h) // counts a lot; it never fails
			return []string{tag}, tx.Contents(tag, add)
		}
	}
	if err := tx.At(b.About, add); err != nil {
		return nil, err
	}
	if len(b.cells)+len(b.boxes) == 0 {
		b.places, err = tx.Places()
	}
	return nil, err
}

// compare holds the tags that were scanned against those that the log has here.
// A container is extra where the log has it elsewhere and never missing: what
// is counted are cells.
func (b *inspectionBody) compare(tx *logbook.Tx, scanned []string) error {
	b.elsewhere = map[string]string{}
	b.Scanned = []string{}
	for _, tag := range scanned {
		tag, err := nameOf(tx, tag)
		if err != nil {
			return err
		}
		if slices.Contains(b.Scanned, tag) {
			continue
		}
		b.Scanned = append(b.Scanned, tag)
		if slices.Contains(b.cells, tag) || slices.Contains(b.boxes, tag) {
			continue
		}
		b.Extra = append(b.Extra, tag)
		h, ok, err := tx.HeldAs(tag)
		switch {
		case err != nil:
			return err
		case !ok:
			b.elsewhere[tag] = "not in the shop by the log"
		case h.In != "":
			b.elsewhere[tag] = "by the log in " + triage.SpacedTag(h.In)
		case h.Place != "":
			b.elsewhere[tag] = "by the log at " + h.Place
		default:
			b.elsewhere[tag] = "by the log at no place"
		}
	}
	for _, tag := range b.cells {
		if !slices.Contains(b.Scanned, tag) {
			b.Missing = append(b.Missing, tag)
		}
	}
	return nil
}

// scannedCells counts the tags of cells that were scanned.
func (b *inspectionBody) scannedCells() (n int64) {
	for _, tag := range b.Scanned {
		if kind, _ := triage.TagNumber(tag); kind == triage.CellTag {
			n++
		}
	}
	return n
}
