package app

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"pouchward/cmd/internal/intake"
	"pouchward/triage"
	"pouchward/triage/consign"
)

// packageColumns are the columns of a sheet of readings that say which package a
// row is in and what that package is like. sort passes them through.
var packageColumns = []string{"x_package", "x_outer", "x_level", "x_un_mark", "x_tare", "x_max_gross", "x_gross", "x_inner", "x_fill",
	"x_spare_sets", "x_overpack", "x_marks", "x_net", "x_count"}

// sortGiven puts values in field order, so that a reading does not depend on the
// order of the keys.
func sortGiven(given []Given) {
	slices.SortStableFunc(given, func(a, b Given) int { return cmp.Compare(a.Field, b.Field) })
}

// readSheet reads packages from a sheet of readings, one cell or device a row.
// What is said of a package may stand in any of its rows; two that differ are
// refused.
func (b *packageBuilder) readSheet(name string, stdin io.Reader) error {
	var house map[string]string
	if h := b.check.Shop.House; h != nil {
		house = h.Map
	}
	s, err := openSheet(name, stdin, "", nil, house, nil)
	if err != nil {
		return err
	}
	defer s.Close()
	at := map[string]int{}
	for i, c := range s.Columns {
		key := strings.ToLower(strings.NewReplacer(" ", "_", "-", "_").Replace(c.Name))
		if c.Kind != intake.PassColumn {
			continue
		}
		if !slices.Contains(packageColumns, key) {
			if near := triage.Nearest(key, packageColumns); near != "" {
				b.refuse(fmt.Sprintf("column %d", i+1), "%s is not read, did you mean %s?", c.Name, near)
			}
			continue
		}
		if _, twice := at[key]; twice {
			return fmt.Errorf("reading %s: two columns are %s; keep one", name, key)
		}
		at[key] = i
	}
	if _, ok := at["x_package"]; !ok {
		return fmt.Errorf("reading %s: no column x_package says which package a row is in", name)
	}
	said := map[string]map[string]string{}
	packages := map[string]*consign.Package{}
	var row intake.Row
	for {
		err := s.Next(&row)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if err := b.row(s, &row, at, packages, said); err != nil {
			return err
		}
	}
	for _, p := range b.check.Packages {
		b.describe(p, said[p.Tag])
	}
	return nil
}

// row puts one cell into its package and keeps what the row says of that.
func (b *packageBuilder) row(s *intake.Sheet, row *intake.Row, at map[string]int, packages map[string]*consign.Package, said map[string]map[string]string) error {
	cell := func(key string) string {
		if i, ok := at[key]; ok {
			return strings.TrimSpace(row.Cells[i])
		}
		return ""
	}
	where := fmt.Sprintf("line %d", row.Line)
	name := cell("x_package")
	if name == "" {
		b.refuse(where, "x_package is blank: the cell is judged in a package of its own")
		name = where
	}
	p := packages[name]
	if p == nil {
		p = &consign.Package{Tag: name}
		packages[name], said[name] = p, map[string]string{}
		b.check.Packages = append(b.check.Packages, p)
	}
	it := consign.Item{Case: b.check.Shop.Case()}
	b.check.Refused = append(b.check.Refused, s.Read(row, &it.Case.Reading)...)
	it.Tag = it.Case.Reading[triage.Tag].Text
	it.NetG = b.mass(where, "x_net", cell("x_net"))
	it.Count, _ = b.count(where, "x_count", cell("x_count"), 1)
	if err := b.put(p, where, it, 1); err != nil {
		return err
	}
	for _, key := range packageColumns[1:12] {
		switch text := cell(key); {
		case text == "":
		case said[name][key] == "":
			said[name][key] = text
		case said[name][key] != text:
			b.refuse(where, "%s of package %s is %q here and %q above: it counts as not said", key, name, text, said[name][key])
			said[name][key] = "?"
		}
	}
	return nil
}

// describe fills in what the rows say of a package.
func (b *packageBuilder) describe(p *consign.Package, said map[string]string) {
	at := "package " + p.Tag
	known := func(key string) string { return strings.TrimPrefix(said[key], "?") }
	p.Outer = consign.Outer{Name: known("x_outer"), Level: b.level(at, known("x_level")), UNMark: known("x_un_mark"),
		TareG: b.mass(at, "x_tare", known("x_tare")), MaxGrossG: b.mass(at, "x_max_gross", known("x_max_gross"))}
	p.GrossG, p.Overpack = b.mass(at, "x_gross", known("x_gross")), known("x_overpack")
	p.Inner, p.Fill = b.said(at, "x_inner", known("x_inner")), b.said(at, "x_fill", known("x_fill"))
	if n, ok := b.count(at, "x_spare_sets", known("x_spare_sets"), 0); ok {
		p.SpareSets = &n
	}
	if said["x_marks"] != "" {
		p.Marked = []string{}
		for m := range strings.SplitSeq(known("x_marks"), ";") {
			if m = strings.TrimSpace(m); m != "" && m != "none" {
				p.Marked = append(p.Marked, m)
			}
		}
	}
}
