package app

import (
	"cmp"
	"slices"
	"strings"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
	"pouchward/triage/hazard"
)

// StockBy are the ways in which the stock is added up.
var StockBy = []string{"place", "container", "class", "cell"}

// ScreenedStock is Stock with what the largest container of it could do.
func ScreenedStock(shop *Shop, l *logbook.Log, day triage.Date, by, at string) (*exports.StockReport, error) {
	r, err := Stock(l, day, by, at)
	if err != nil {
		return nil, err
	}
	r.Hazard, err = stockHazard(shop, l, day, at)
	return r, err
}

// Stock reads what is in the shop on a day. by adds rows up by place, container
// or class, or names each cell; blank keeps the three apart. at keeps to a place
// or a container, blank for the whole shop.
func Stock(l *logbook.Log, day triage.Date, by, at string) (*exports.StockReport, error) {
	if by != "" && !slices.Contains(StockBy, by) {
		return nil, Usage("--by %q: use place, container, class or cell", by)
	}
	rows, err := stockRows(l, day, by)
	if err != nil {
		return nil, err
	}
	if at != "" {
		if rows, at, err = rowsAt(l, rows, at); err != nil {
			return nil, err
		}
	}
	r := &exports.StockReport{On: day.String(), By: by, At: at}
	for _, x := range rows {
		add(&r.Total, &x)
		switch by {
		case "place":
			x.Container, x.What, x.Handling, x.Condition = "", "", "", ""
		case "container":
			x.Place, x.Handling, x.Condition = "", "", ""
		case "class":
			x.Place, x.Container, x.What = "", "", ""
		}
		at := slices.IndexFunc(r.Rows, func(o exports.StockRow) bool {
			return o.Tag == x.Tag && o.Place == x.Place && o.Container == x.Container && o.Handling == x.Handling && o.Condition == x.Condition
		})
		if at < 0 {
			r.Rows = append(r.Rows, x)
			continue
		}
		add(&r.Rows[at], &x)
	}
	r.Total.Place, r.Total.Container, r.Total.What, r.Total.Handling, r.Total.Condition = "", "", "", "", ""
	slices.SortStableFunc(r.Rows, func(a, b exports.StockRow) int {
		ha, _ := triage.HandlingByName(a.Handling)
		hb, _ := triage.HandlingByName(b.Handling)
		if by == "class" {
			return cmp.Compare(hb, ha)
		}
		return cmp.Or(cmp.Compare(a.Place, b.Place), cmp.Compare(a.Container, b.Container), cmp.Compare(hb, ha))
	})
	return r, nil
}

// stockHazard is what the largest container could do, without a room.
func stockHazard(shop *Shop, l *logbook.Log, day triage.Date, at string) (*exports.StockHazard, error) {
	figures, err := hazard.FiguresOf(shop.Rulebook)
	if err != nil {
		return nil, err
	}
	s := &hazard.Screen{On: day, Figures: figures}
	if err := new(HazardAsk).under(s); err != nil {
		return nil, err
	}
	if s.Stand, err = standOf(l, figures, day, ""); err != nil {
		return nil, err
	}
	if tag, kind, err := triage.CheckTag(at); err == nil && kind == triage.ContainerTag {
		s.Stand.Groups = slices.DeleteFunc(s.Stand.Groups, func(g hazard.Group) bool { return g.Tag != tag })
	} else if at != "" {
		s.Stand = only(s.Stand, at)
	}
	return exports.NewStockHazard(s), nil
}

// stockRows reads the rows that are to be added up.
func stockRows(l *logbook.Log, day triage.Date, by string) (rows []exports.StockRow, err error) {
	if by == "cell" {
		return stockCells(l, day)
	}
	lines, err := l.Stock(day.String())
	if err != nil {
		return nil, err
	}
	what, err := containerWords(l)
	for i := range lines {
		rows = append(rows, stockRow(&lines[i], what))
	}
	return rows, err
}

// rowsAt keeps the rows of a place, or of a container by its tag. A place that
// the log does not know is refused: no row would read as an empty shelf. name is
// what it keeps to as printed.
func rowsAt(l *logbook.Log, rows []exports.StockRow, at string) (kept []exports.StockRow, name string, err error) {
	tag, kind, err := triage.CheckTag(at)
	isBox := err == nil && kind == triage.ContainerTag
	if isBox {
		if _, isBox, err = l.HeldAs(tag); err != nil {
			return nil, "", err
		}
		name = triage.SpacedTag(tag)
	}
	if !isBox {
		var places []string
		for i := range rows {
			if p := rows[i].Place; p != "" && !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
		slices.Sort(places)
		if !slices.Contains(places, at) {
			return nil, "", Usage("--at %q: the log has nothing there; it knows %s", at, cmp.Or(strings.Join(places, "; "), "no place"))
		}
		name = at
	}
	return slices.DeleteFunc(rows, func(x exports.StockRow) bool {
		return isBox && x.Container != tag || !isBox && x.Place != at
	}), name, nil
}

// containerWords says what each container is.
func containerWords(l *logbook.Log) (map[string]string, error) {
	what := map[string]string{}
	err := l.Containers(func(h *logbook.Held) error {
		what[h.Tag] = h.What
		return nil
	})
	return what, err
}

func stockRow(s *logbook.StockLine, what map[string]string) exports.StockRow {
	return exports.StockRow{Place: s.Place, Container: s.Container, What: what[s.Container], Handling: s.Handling, Condition: s.Condition,
		Cells: s.Cells, Wh: float64(s.MicroWh) / 1e6, Unrated: s.Cells - s.Rated, Kg: float64(s.MilliGram) / 1e6, Unweighed: s.Cells - s.Weighed,
		Oldest: s.Oldest, Unsecured: s.Unsecured}
}

func add(to, x *exports.StockRow) {
	to.Cells, to.Wh, to.Unrated, to.Kg, to.Unweighed = to.Cells+x.Cells, to.Wh+x.Wh, to.Unrated+x.Unrated, to.Kg+x.Kg, to.Unweighed+x.Unweighed
	to.Unsecured += x.Unsecured
	if to.Oldest == "" || x.Oldest != "" && x.Oldest < to.Oldest {
		to.Oldest = x.Oldest
	}
}

// Containers lists the containers in the shop with what each holds.
func Containers(l *logbook.Log, day triage.Date) ([]exports.ContainerRow, error) {
	lines, err := l.Stock(day.String())
	if err != nil {
		return nil, err
	}
	var list []exports.ContainerRow
	err = l.Containers(func(h *logbook.Held) error {
		x := exports.ContainerRow{Tag: h.Tag, What: h.What, Litres: float64(h.MilliLitr) / 1000, Place: h.Place, Oldest: h.Start}
		worst := triage.Sound
		for i := range lines {
			s := &lines[i]
			if s.Container != h.Tag {
				continue
			}
			x.Cells, x.Wh, x.Unrated = x.Cells+s.Cells, x.Wh+float64(s.MicroWh)/1e6, x.Unrated+s.Cells-s.Rated
			if class, _ := triage.HandlingByName(s.Handling); x.Worst == "" || class > worst {
				x.Worst, worst = s.Handling, class
			}
			if x.Oldest == "" || s.Oldest != "" && s.Oldest < x.Oldest {
				x.Oldest = s.Oldest
			}
		}
		list = append(list, x)
		return nil
	})
	return list, err
}
