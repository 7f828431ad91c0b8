package app

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"

	"github.com/pelletier/go-toml/v2"

	"pouchward/triage"
	"pouchward/triage/consign"
)

// packageTOML describes packages. A cell has the fields of a reading beside its
// own three keys.
type packageTOML struct {
	Route    string `toml:"route"`
	Packages []struct {
		Name      string           `toml:"name"`
		Outer     string           `toml:"outer"`
		Level     string           `toml:"level"`
		UNMark    string           `toml:"un_mark"`
		Tare      string           `toml:"tare"`
		MaxGross  string           `toml:"max_gross"`
		Gross     string           `toml:"gross"`
		Inner     bool             `toml:"inner"`
		Fill      bool             `toml:"fill"`
		SpareSets *int             `toml:"spare_sets"`
		Overpack  string           `toml:"overpack"`
		Marks     *[]string        `toml:"marks"`
		Cells     []map[string]any `toml:"cell"`
	} `toml:"package"`
}

// readTOML reads packages and the route that the file names.
func (b *packageBuilder) readTOML(name string) (route string, err error) {
	data, err := readSmall(name, maxPackageBytes)
	if err != nil {
		return "", fmt.Errorf("reading the packages: %w", err)
	}
	var f packageTOML
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&f); err != nil {
		var strict *toml.StrictMissingError
		var de *toml.DecodeError
		switch {
		case errors.As(err, &strict):
			row, _ := strict.Errors[0].Position()
			return "", fmt.Errorf("reading %s: line %d: no key %s; see pouchward package check --help", name, row, strict.Errors[0].Key())
		case errors.As(err, &de):
			row, col := de.Position()
			return "", fmt.Errorf("reading %s: line %d column %d: %w", name, row, col, err)
		}
		return "", fmt.Errorf("reading %s: %w", name, err)
	}
	for i := range f.Packages {
		x := &f.Packages[i]
		if x.Name == "" {
			x.Name = strconv.Itoa(i + 1)
		}
		at := "package " + x.Name
		p := &consign.Package{Tag: x.Name, Inner: x.Inner, Fill: x.Fill, SpareSets: x.SpareSets, Overpack: x.Overpack,
			GrossG: b.mass(at, "gross", x.Gross),
			Outer: consign.Outer{Name: x.Outer, Level: b.level(at, x.Level), UNMark: x.UNMark,
				TareG: b.mass(at, "tare", x.Tare), MaxGrossG: b.mass(at, "max_gross", x.MaxGross)}}
		if x.Marks != nil {
			p.Marked = append([]string{}, *x.Marks...)
		}
		for n, cell := range x.Cells {
			if err := b.addCell(p, fmt.Sprintf("%s, cell %d", at, n+1), cell); err != nil {
				return "", err
			}
		}
		b.check.Packages = append(b.check.Packages, p)
	}
	return f.Route, nil
}

// addCell reads one cell, and puts it in as often as its key times says.
func (b *packageBuilder) addCell(p *consign.Package, at string, cell map[string]any) error {
	own := map[string]string{}
	var given []Given
	for _, key := range slices.Sorted(maps.Keys(cell)) {
		value := cell[key]
		text, ok := cellText(value)
		if !ok {
			b.refuse(at, "%s is no single value", key)
			continue
		}
		if f, known := triage.FieldByName(key); known {
			given = append(given, Given{f, text})
			continue
		}
		switch key {
		case "net", "count", "times":
			own[key] = text
		default:
			near := ""
			if n := triage.Nearest(key, triage.FieldNames()); n != "" {
				near = ", did you mean " + n + "?"
			}
			b.refuse(at, "no field %q%s", key, near)
		}
	}
	it := b.item(at, given)
	it.NetG = b.mass(at, "net", own["net"])
	it.Count, _ = b.count(at, "count", own["count"], 1)
	times, ok := b.count(at, "times", own["times"], 1)
	if !ok {
		times = 1
	}
	return b.put(p, at, it, times)
}

// item makes an item of the shop from the values of its reading, in field order.
func (b *packageBuilder) item(at string, given []Given) consign.Item {
	it := consign.Item{Case: b.check.Shop.Case()}
	sortGiven(given)
	var refused []string
	it.Case.Reading, refused = readGiven(given)
	for _, text := range refused {
		b.refuse(at, "%s", text)
	}
	it.Tag = it.Case.Reading[triage.Tag].Text
	return it
}

// cellText writes a TOML value as a person would type it.
func cellText(v any) (string, bool) {
	switch x := v.(type) {
	case string:
		return x, true
	case bool:
		if x {
			return "yes", true
		}
		return "no", true
	case int64:
		return strconv.FormatInt(x, 10), true
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64), true
	case toml.LocalDate:
		return x.String(), true
	}
	return "", false
}
