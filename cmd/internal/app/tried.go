package app

import (
	"fmt"
	"strings"

	"pouchward/logbook"
	"pouchward/triage"
)

// A Tried is a record of something that was tried out, and what to say of it.
type Tried struct {
	Receipt logbook.Receipt
	Lines   []string
}

type numberBody struct {
	Subject  string `json:"subject"`
	About    string `json:"about"`
	Number   string `json:"number"`
	Answered string `json:"answered"`
	Note     string `json:"note,omitempty"`
}

// TryNumber records that the emergency telephone of shipments was rung. Where a
// way asks for one it is monitored at all times while the shipment travels (49
// CFR 172.604(a)); that it is tried now and then is common practice.
func (r *Recording) TryNumber(shop *Shop, act Act, answered, note string) (*Tried, error) {
	if err := act.needWho("a trial of the telephone"); err != nil {
		return nil, err
	}
	said, err := yesNo("--answered", answered)
	if err != nil {
		return nil, err
	}
	if said == "" || said == "?" {
		return nil, Usage("say whether somebody answered who can tell about the goods: --answered yes, or no")
	}
	b := numberBody{Subject: "emergency-number", Number: notSaid, Answered: said, Note: note}
	t := &Tried{}
	name := "The emergency telephone"
	if shop.House != nil && shop.House.Shop.EmergencyNumber != "" {
		b.Number = shop.House.Shop.EmergencyNumber
		name += " " + b.Number
	} else {
		t.Lines = append(t.Lines, "NOTICE No house file names the number: the entry does not say which was rung.")
	}
	if said == "yes" {
		t.Lines = append(t.Lines, name+" answered.")
	} else {
		t.Lines = append(t.Lines, "NO ANSWER. "+name+" is to be monitored while goods travel (49 CFR 172.604(a)): nothing that names it leaves until it is.")
	}
	return t, r.record(t, act, b)
}

// record writes one record about no tag.
func (r *Recording) record(t *Tried, act Act, body any) error {
	d, err := r.draft(nil, act, "record", body)
	if err == nil {
		t.Receipt, err = r.log.Append(d)
	}
	if err != nil {
		return fmt.Errorf("not recorded: %w", err)
	}
	return nil
}

// An InstrumentCheck is a reading of something whose value is known. Within is
// the difference allowed; left blank, nothing is judged.
type InstrumentCheck struct{ Name, Reference, Reading, Unit, Within, Note string }

type instrumentBody struct {
	Subject    string `json:"subject"`
	About      string `json:"about"`
	Reference  string `json:"reference"` // as typed, like the next three
	Reading    string `json:"reading"`
	Unit       string `json:"unit"`
	Within     string `json:"within,omitempty"`
	Difference string `json:"difference"` // reading less reference, in the unit that is named with it
	Passed     string `json:"passed"`     // yes, no, or not judged
	Note       string `json:"note,omitempty"`
}

// CheckInstrument records a reading against a reference.
func (r *Recording) CheckInstrument(act Act, x InstrumentCheck) (*Tried, error) {
	if err := act.needWho("a check of an instrument"); err != nil {
		return nil, err
	}
	name := strings.TrimSpace(x.Name)
	if name == "" || len(name) > 60 {
		return nil, Usage("--instrument takes the instrument's name, at most 60 characters")
	}
	difference, base, passed, err := x.judge()
	if err != nil {
		return nil, err
	}
	b := instrumentBody{Subject: "instrument-check", About: name, Reference: x.Reference, Reading: x.Reading, Unit: x.Unit, Within: x.Within,
		Difference: strings.TrimSpace(difference.String() + " " + base), Passed: passed, Note: x.Note}
	words := map[string]string{
		"yes":        "within " + x.Within + ", as asked for.",
		"no":         "NOT within " + x.Within + ": what it read since its last check is in doubt; read again with another.",
		"not judged": "not judged: --within names the difference that is allowed.",
	}
	t := &Tried{Lines: []string{fmt.Sprintf("%s reads %s %s at %s %s, a difference of %s; %s", name, x.Reading, x.Unit, x.Reference, x.Unit, b.Difference, words[passed])}}
	return t, r.record(t, act, b)
}

// judge compares exactly, in the base unit.
func (x *InstrumentCheck) judge() (difference triage.Micro, base, passed string, err error) {
	if base, err = baseUnit(x.Unit); err != nil {
		return 0, "", "", err
	}
	read := func(flag, text, base string) (triage.Micro, error) {
		m, err := triage.ParseQuantity(text+" "+x.Unit, base, true)
		if err != nil {
			m, err = triage.ParseQuantity(text, base, true) // with a unit of its own
		}
		if err != nil {
			return 0, Usage("%s %q: %v", flag, text, err)
		}
		return m, nil
	}
	reference, err := read("--reference", x.Reference, base)
	if err != nil {
		return 0, "", "", err
	}
	reading, err := read("--reading", x.Reading, base)
	if err != nil {
		return 0, "", "", err
	}
	step := base
	if base == "°C" {
		step = "K" // a difference has no zero point to shift
	}
	difference = reading - reference
	if x.Within == "" {
		return difference, step, "not judged", nil
	}
	within, err := read("--within", x.Within, step)
	if err != nil {
		return 0, "", "", err
	}
	if within < 0 {
		return 0, "", "", Usage("--within %q: a difference allowed is 0 or more", x.Within)
	}
	if max(difference, -difference) > within {
		return difference, step, "no", nil
	}
	return difference, step, "yes", nil
}

// baseUnit returns the unit in which a typed one is computed.
func baseUnit(unit string) (string, error) {
	if unit == "" {
		return "", Usage("name the unit of both: --unit V")
	}
	for _, base := range []string{"V", "mm", "°C", "g", "mΩ", "mAh", "L"} {
		m, err := triage.ParseQuantity("1"+unit, base, false)
		if err == nil && base == "°C" && m != triage.One {
			return "", Usage("--unit %q: write both in °C", unit)
		}
		if err == nil {
			return base, nil
		}
	}
	return "", Usage("--unit %q: use V, mm, °C, g, mohm, mAh or L, or a unit that these are measured in", unit)
}
