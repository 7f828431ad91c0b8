package logbook

import (
	"errors"
	"fmt"
	"time"

	"pouchward/triage"
)

// A Held is what the shop holds under one tag.
type Held struct {
	Key   int64 // triage.TagKey of the tag
	Entry int64 // the entry that said so
	State
}

// ErrOldSchema says that the file has no views of the stock yet.
var ErrOldSchema = errors.New("the log was last written by an earlier release, which kept no stock: pouchward log rebuild brings it up to date, no entry is touched")

// stockError names what a file of an earlier schema lacks.
func (l *Log) stockError(err error) error {
	if err == nil {
		return nil
	}
	var version int
	if l.q.QueryRow("PRAGMA user_version").Scan(&version) == nil && version < 2 {
		return ErrOldSchema
	}
	return fmt.Errorf("reading the stock: %w", err)
}

// readHere calls fn for every tag in the shop that a condition of SQL names, in
// the order in which tags are issued.
func readHere(q queryer, where string, fn func(*Held) error, args ...any) error {
	rows, err := q.Query(`SELECT key, n, handling, condition, size, waste, count, uwh, mg, ml, start, start_by, since, looked, look_in,
		place, held_in, what, made_safe, lapses, lapsed_handling, lapsed_condition FROM here `+where+" ORDER BY key", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		h := Held{State: State{Is: Here}}
		var since, looked string
		var in int64
		s := &h.State
		if err := rows.Scan(&h.Key, &h.Entry, &s.Handling, &s.Condition, &s.Size, &s.Waste, &s.Count, &s.MicroWh, &s.MilliGram, &s.MilliLitr,
			&s.Start, &s.StartBy, &since, &looked, &s.LookIn, &s.Place, &in, &s.What, &s.MadeSafe,
			&s.Lapses, &s.LapsedHandling, &s.LapsedCondition); err != nil {
			return err
		}
		if h.Key < 0 || h.Key >= triage.TagKeys() || in >= triage.TagKeys() {
			return fmt.Errorf("%d is the key of no tag", h.Key)
		}
		h.Tag = triage.TagOfKey(h.Key)
		if in >= 0 {
			s.In = triage.TagOfKey(in)
		}
		if s.Since, err = optionalTime(since); err != nil {
			return err
		}
		if s.Looked, err = optionalTime(looked); err != nil {
			return err
		}
		if err := fn(&h); err != nil {
			return err
		}
	}
	return rows.Err()
}

func optionalTime(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	return parseTime(text)
}

// firstCell is the least key of a cell: containers and shipments lie below.
var firstCell = triage.TagKey(triage.IssueTag(triage.CellTag, 0))

// Everything calls fn for every tag in the shop, containers before cells.
func (l *Log) Everything(fn func(*Held) error) error { return l.stockError(readHere(l.q, "", fn)) }

// Containers calls fn for each container in the shop.
func (l *Log) Containers(fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE key < ?", fn, triage.TagCount(triage.ContainerTag)))
}

// Cells calls fn for each cell and lot in the shop.
func (l *Log) Cells(fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE key >= ? OR count > 0", fn, firstCell))
}

// Watched calls fn for each cell and lot that stands to be looked at again: all
// but those that are retired or show no fault, and those of them whose
// determination has lapsed before the day given.
func (l *Log) Watched(day string, fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE handling NOT IN ('', 'retire', 'sound') OR lapses <> '' AND lapses < ?", fn, day))
}

// Lapsing calls fn for each cell whose determination lapses on a day or before.
func (l *Log) Lapsing(day string, fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE lapses <> '' AND lapses <= ?", fn, day))
}

// SingleCells calls fn for each cell in the shop that has a tag of its own.
func (l *Log) SingleCells(fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE key >= ?", fn, firstCell))
}

// Unsecured calls fn for each cell that is not recorded as made safe.
func (l *Log) Unsecured(fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE made_safe = 0 AND key >= ?", fn, firstCell))
}

// A Clock is an accumulation clock: of a container, by the earliest start in it,
// or of a cell that no container holds.
type Clock struct {
	Container string // blank for a cell of its own
	Tag       string // the cell, or lot, whose start is the earliest
	Place     string
	Start     string
	StartBy   string
	Cells     int64 // how many stand under this clock and have the same or a later start
}

// Clocks returns the clocks that began on a day or before, the earliest first.
func (l *Log) Clocks(day string) ([]Clock, error) {
	rows, err := l.q.Query(`SELECT h.key, h.held_in, coalesce(c.place, h.place), min(h.start), h.start_by, count(*)
		FROM here h LEFT JOIN here c ON c.key = h.held_in
		WHERE h.start <> ''
		GROUP BY CASE WHEN h.held_in >= 0 THEN h.held_in WHEN h.key < ?1 THEN h.key ELSE -1 - h.key END
		HAVING min(h.start) <= ?2 ORDER BY min(h.start), h.key`, triage.TagCount(triage.ContainerTag), day)
	if err != nil {
		return nil, l.stockError(err)
	}
	defer rows.Close()
	var list []Clock
	for rows.Next() {
		var c Clock
		var key, in int64
		if err := rows.Scan(&key, &in, &c.Place, &c.Start, &c.StartBy, &c.Cells); err != nil {
			return nil, l.stockError(err)
		}
		c.Tag = triage.TagOfKey(key)
		switch {
		case in >= 0:
			c.Container = triage.TagOfKey(in)
		case key < triage.TagCount(triage.ContainerTag):
			c.Container = c.Tag
		}
		list = append(list, c)
	}
	return list, l.stockError(rows.Err())
}

// A StockLine is what stands in one place and container in one class.
type StockLine struct {
	Place     string // blank: not said where
	Container string // blank: none
	Handling  string
	Condition string
	Cells     int64 // lots counted by their cells
	MicroWh   int64 // of those whose rating is known
	Rated     int64 // how many these are
	MilliGram int64 // of those weighed
	Weighed   int64
	Oldest    string // earliest accumulation start, blank for none
	Unsecured int64  // cells not recorded as made safe; none of those that react, which nobody touches
}

// Stock returns what is in the shop on a day, by place, container and class; a
// determination that lapsed before the day no longer counts.
func (l *Log) Stock(day string) ([]StockLine, error) {
	rows, err := l.q.Query(`SELECT coalesce(c.place, h.place), CASE WHEN h.key < ?1 THEN h.key ELSE h.held_in END AS box,
		CASE WHEN h.lapses <> '' AND h.lapses < ?2 THEN h.lapsed_handling ELSE h.handling END AS hand,
		CASE WHEN h.lapses <> '' AND h.lapses < ?2 THEN h.lapsed_condition ELSE h.condition END AS cond,
		sum(max(h.count, h.key >= ?1)), sum(h.uwh), sum(CASE WHEN h.uwh > 0 THEN max(h.count, 1) ELSE 0 END),
		sum(CASE WHEN h.key >= ?1 OR h.count > 0 THEN h.mg ELSE 0 END), sum(CASE WHEN h.mg > 0 THEN max(h.count, 1) ELSE 0 END),
		coalesce(min(nullif(h.start, '')), ''), sum(CASE WHEN h.made_safe = 0 AND h.key >= ?1 THEN 1 ELSE 0 END)
		FROM here h LEFT JOIN here c ON c.key = h.held_in
		WHERE h.key >= ?1 OR h.count > 0
		GROUP BY 1, 2, 3, 4 ORDER BY 1, 2, 3, 4`, firstCell, day)
	if err != nil {
		return nil, l.stockError(err)
	}
	defer rows.Close()
	var list []StockLine
	for rows.Next() {
		var s StockLine
		var box int64
		if err := rows.Scan(&s.Place, &box, &s.Handling, &s.Condition, &s.Cells, &s.MicroWh, &s.Rated, &s.MilliGram, &s.Weighed, &s.Oldest, &s.Unsecured); err != nil {
			return nil, l.stockError(err)
		}
		if box >= 0 {
			s.Container = triage.TagOfKey(box)
		}
		if s.Handling == triage.Emergency.String() {
			s.Unsecured = 0
		}
		list = append(list, s)
	}
	return list, l.stockError(rows.Err())
}

// HeldAs returns what the shop holds under a tag; ok is false for none.
func (t *Tx) HeldAs(tag string) (h Held, ok bool, err error) { return heldAs(t.tx, tag) }

// HeldAs returns what the shop holds under a tag; ok is false for none.
func (l *Log) HeldAs(tag string) (h Held, ok bool, err error) {
	h, ok, err = heldAs(l.q, tag)
	return h, ok, l.stockError(err)
}

func heldAs(q queryer, tag string) (h Held, ok bool, err error) {
	err = readHere(q, "WHERE key = ?", func(x *Held) error {
		h, ok = *x, true
		return nil
	}, triage.TagKey(tag))
	return h, ok, err
}

// Contents calls fn for each tag that stands in a container.
func (t *Tx) Contents(container string, fn func(*Held) error) error {
	return readHere(t.tx, "WHERE held_in = ?", fn, triage.TagKey(container))
}

// Contents calls fn for each tag that stands in a container.
func (l *Log) Contents(container string, fn func(*Held) error) error {
	return l.stockError(readHere(l.q, "WHERE held_in = ?", fn, triage.TagKey(container)))
}

// At calls fn for each tag that stands at a place, by itself or in a container
// there: cells, lots and the containers themselves.
func (t *Tx) At(place string, fn func(*Held) error) error {
	return readHere(t.tx, "WHERE coalesce((SELECT c.place FROM here c WHERE c.key = here.held_in), place) = ?", fn, place)
}

// A PlaceCount is how many cells stand at a place, lots counted by their cells.
type PlaceCount struct {
	Place string // blank: not said where
	Cells int64
}

// PlaceCounts returns the places at which cells stand.
func (l *Log) PlaceCounts() (list []PlaceCount, err error) {
	rows, err := l.q.Query(`SELECT coalesce(c.place, h.place), sum(max(h.count, h.key >= ?1))
		FROM here h LEFT JOIN here c ON c.key = h.held_in
		WHERE h.key >= ?1 OR h.count > 0 GROUP BY 1 ORDER BY 1`, firstCell)
	if err != nil {
		return nil, l.stockError(err)
	}
	defer rows.Close()
	for rows.Next() {
		var p PlaceCount
		if err := rows.Scan(&p.Place, &p.Cells); err != nil {
			return nil, l.stockError(err)
		}
		list = append(list, p)
	}
	return list, l.stockError(rows.Err())
}

// Places returns the places at which something stands.
func (t *Tx) Places() (list []string, err error) {
	rows, err := t.tx.Query("SELECT DISTINCT place FROM here WHERE place <> '' ORDER BY place")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var place string
		if err := rows.Scan(&place); err != nil {
			return nil, err
		}
		list = append(list, place)
	}
	return list, rows.Err()
}

// readLatest calls fn for each subject; a blank topic is every topic.
func readLatest(q queryer, topic string, fn func(topic, about string, n int64)) error {
	rows, err := q.Query("SELECT topic, about, n FROM latest WHERE ?1 = '' OR topic = ?1 ORDER BY topic, about", topic)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var t, about string
		var n int64
		if err := rows.Scan(&t, &about, &n); err != nil {
			return err
		}
		fn(t, about, n)
	}
	return rows.Err()
}

// Latest returns the last entry about each subject of a topic: inspection,
// incident, or the subject of a record.
func (l *Log) Latest(topic string) ([]*Entry, error) {
	list, err := latestOf(l.q, topic)
	return list, l.stockError(err)
}

// Latest returns the last entries about the subjects of a topic before this
// write.
func (t *Tx) Latest(topic string) ([]*Entry, error) { return latestOf(t.tx, topic) }

func latestOf(q queryer, topic string) ([]*Entry, error) {
	return readPage(q, "WHERE n IN (SELECT n FROM latest WHERE topic = ?) ORDER BY n", topic)
}

// LastAbout returns the last entry about one subject of a topic, nil for none.
func (l *Log) LastAbout(topic, about string) (*Entry, error) {
	e, err := lastAbout(l.q, topic, about)
	return e, l.stockError(err)
}

// LastAbout returns the last entry about one subject of a topic before this
// write, nil for none.
func (t *Tx) LastAbout(topic, about string) (*Entry, error) { return lastAbout(t.tx, topic, about) }

func lastAbout(q queryer, topic, about string) (*Entry, error) {
	list, err := readPage(q, "WHERE n = (SELECT n FROM latest WHERE topic = ? AND about = ?)", topic, about)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	return list[0], nil
}

// OfPart returns the last assessments that name a part number, at most so many,
// oldest first. The part is spelled as triage.PartKey does.
func (l *Log) OfPart(part string, most int) ([]*Entry, error) {
	list, err := readPage(l.q, "WHERE n IN (SELECT n FROM part_entries WHERE part = ? ORDER BY n DESC LIMIT ?) ORDER BY n", part, most)
	return list, l.stockError(err)
}

// Parts returns the part numbers on record with how many assessments name each.
func (l *Log) Parts(fn func(part string, entries int64)) error {
	rows, err := l.q.Query("SELECT part, count(*) FROM part_entries GROUP BY part ORDER BY part")
	if err != nil {
		return l.stockError(err)
	}
	defer rows.Close()
	for rows.Next() {
		var part string
		var n int64
		if err := rows.Scan(&part, &n); err != nil {
			return l.stockError(err)
		}
		fn(part, n)
	}
	return l.stockError(rows.Err())
}
