package triage

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"path"
	"strings"
	"sync"

	"github.com/pelletier/go-toml/v2"
)

//go:embed rules/*.toml
var ruleFiles embed.FS

// Tables are rule tables of every date.
type Tables []*Table

// A Rulebook is the rules in force on one day, compiled for judging. It is safe
// for concurrent use.
type Rulebook struct {
	On     Date
	Digest string // SHA-256 over the names (without folders) and bytes of the tables in force, hex

	tables    []*Table
	past      []*Instrument
	rules     []*Rule
	advice    []*Advice
	streams   []*Stream
	states    []*StateLine
	intervals []*Interval
	locals    []*Local
	figures   []*Figure
	limits    []*Limit
	storages  []*Storage
	checks    []*Check
	bars      [NumRoutes][]*Bar
	ways      [NumRoutes][]*Way
	families  [NumRoutes]uint8 // chemistry families that some way covers

	// kept holds the ways for each condition and known family; the last family
	// is the one that is not known.
	kept [NumRoutes][len(conditionWords)][len(familyNames) + 1][]*Way
}

// Embedded returns the rule tables shipped in the program. They are read beside one
// another: reading them is most of what a command takes to start.
var Embedded = sync.OnceValues(func() (Tables, error) {
	entries, err := ruleFiles.ReadDir("rules")
	if err != nil {
		return nil, err
	}
	tables, errs := make(Tables, len(entries)), make([]error, len(entries))
	var reading sync.WaitGroup
	for i, e := range entries {
		reading.Go(func() {
			data, err := ruleFiles.ReadFile(path.Join("rules", e.Name()))
			if err == nil {
				tables[i], err = ParseTable(e.Name(), data)
			}
			errs[i] = err
		})
	}
	reading.Wait()
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return tables, nil
})

// On returns the rulebook in force on a day. A day before the first edition is
// refused: with no rule in force every cell would look faultless.
func (ts Tables) On(day Date) (*Rulebook, error) {
	rb := &Rulebook{On: day}
	sum := sha256.New()
	for _, t := range ts {
		if !inForce(day, t.from, t.until) {
			continue
		}
		rb.tables = append(rb.tables, t)
		addToDigest(sum, t.Name, t.bytes)
		rb.add(t)
	}
	if len(rb.rules) == 0 || len(rb.advice) == 0 {
		return nil, fmt.Errorf("no handling rules are in force on %s: choose a later date", day)
	}
	rb.keep()
	rb.past = rb.PastEdition()
	rb.Digest = hex.EncodeToString(sum.Sum(nil))
	return rb, nil
}

// addToDigest adds a table in force. A house file has one digest from wherever it is
// named.
func addToDigest(sum hash.Hash, name string, data []byte) {
	fmt.Fprintf(sum, "%s\x00%d\x00", path.Base(strings.ReplaceAll(name, `\`, "/")), len(data))
	sum.Write(data)
}

// DigestOn is the digest of the shipped rulebook of a day. It reads no more of a table
// than its head: the rules themselves take several times as long.
func DigestOn(day Date) (string, error) {
	entries, err := ruleFiles.ReadDir("rules")
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	for _, e := range entries {
		data, err := ruleFiles.ReadFile(path.Join("rules", e.Name()))
		if err != nil {
			return "", err
		}
		head, _, _ := bytes.Cut(data, []byte("\n[["))
		var t Table
		if err := toml.Unmarshal(head, &t); err != nil {
			return "", fmt.Errorf("rule table %s: %w", e.Name(), tomlError(err))
		}
		from, until, err := window(t.Instrument.From, t.Instrument.Until)
		if err != nil {
			return "", fmt.Errorf("rule table %s: %w", e.Name(), err)
		}
		if inForce(day, from, until) {
			addToDigest(sum, e.Name(), data)
		}
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// inForceOn appends the records that are in force on a day.
func inForceOn[T any, P interface {
	*T
	inForce(Date) bool
}](to []P, list []T, on Date) []P {
	for i := range list {
		if x := P(&list[i]); x.inForce(on) {
			to = append(to, x)
		}
	}
	return to
}

func (rb *Rulebook) add(t *Table) {
	rb.rules = inForceOn(rb.rules, t.Rules, rb.On)
	rb.advice = inForceOn(rb.advice, t.Advice, rb.On)
	rb.streams = inForceOn(rb.streams, t.Streams, rb.On)
	rb.states = inForceOn(rb.states, t.States, rb.On)
	for i := range t.Intervals {
		if x := &t.Intervals[i]; x.inForce(rb.On) {
			rb.addInterval(x)
		}
	}
	rb.locals = inForceOn(rb.locals, t.Locals, rb.On)
	rb.addRest(t)
	for route := range NumRoutes {
		for i := range t.Bars {
			if b := &t.Bars[i]; b.routes>>route&1 == 1 && b.inForce(rb.On) {
				rb.bars[route] = append(rb.bars[route], b)
			}
		}
		for i := range t.Ways {
			if w := &t.Ways[i]; w.routes>>route&1 == 1 && w.inForce(rb.On) {
				rb.ways[route] = append(rb.ways[route], w)
				rb.families[route] |= w.families
			}
		}
	}
}

// keep sorts the ways by what they are for, so that a cell meets only those that
// could be for it. A condition that is not determined keeps those for undamaged.
func (rb *Rulebook) keep() {
	for route := range NumRoutes {
		for _, w := range rb.ways[route] {
			for c := range conditionWords {
				as := ConditionClass(c)
				if as == Undetermined {
					as = Undamaged
				}
				if w.forClasses>>as&1 == 0 {
					continue
				}
				for f := range len(familyNames) + 1 {
					if f == len(familyNames) || w.families>>f&1 == 1 {
						rb.kept[route][c][f] = append(rb.kept[route][c][f], w)
					}
				}
			}
		}
	}
}

// keptFor returns the ways for a condition and a chemistry.
func (rb *Rulebook) keptFor(route Route, c ConditionClass, family *Fact) []*Way {
	if family.State == Known {
		return rb.kept[route][c][family.Lo]
	}
	return rb.kept[route][c][len(familyNames)]
}

// addRest puts what the packages hazard and review read in force.
func (rb *Rulebook) addRest(t *Table) {
	rb.figures = inForceOn(rb.figures, t.Figures, rb.On)
	rb.limits = inForceOn(rb.limits, t.Limits, rb.On)
	rb.storages = inForceOn(rb.storages, t.Storages, rb.On)
	rb.checks = inForceOn(rb.checks, t.Checks, rb.On)
}

func (r *Record) inForce(day Date) bool { return inForce(day, r.from, r.until) }

// Tables lists the tables in force.
func (rb *Rulebook) Tables() []*Table { return rb.tables }

// PastEdition lists the instruments whose known text ended before the
// rulebook's day: every verdict that rests on them says so.
func (rb *Rulebook) PastEdition() []*Instrument {
	var past []*Instrument
	for _, t := range rb.tables {
		if u := t.Instrument.KnownUntil; u != "" {
			if d, err := ParseDate(u); err == nil && d < rb.On {
				past = append(past, &t.Instrument)
			}
		}
	}
	return past
}

// Newest returns the day on which the newest of the tables' texts was read: no
// clock that shows an earlier day is right.
func (ts Tables) Newest() Date {
	var newest Date
	for _, t := range ts {
		if d, err := ParseDate(t.Instrument.ReadOn); err == nil {
			newest = max(newest, d)
		}
	}
	return newest
}
