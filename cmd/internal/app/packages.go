package app

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"pouchward/triage"
	"pouchward/triage/consign"
)

// A PackageCheck is what was found of the packages that a file describes.
type PackageCheck struct {
	Shop     *Shop
	Route    triage.Route
	Packages []*consign.Package
	Judged   []*consign.Judgement // in the order of Packages
	Breaches []consign.Breach     // what holds over all of them
	Refused  []string             // a text for each value that was refused; it counts as not known
}

// ErrBreaches is the outcome of a check that found a limit broken, or not known to
// be kept.
var ErrBreaches = &ExitError{ExitFindings, errors.New("the packages break a limit, or are not known to keep it; see what is printed")}

// Err is ErrBreaches, ErrRefused or nil.
func (c *PackageCheck) Err() error {
	if len(c.Breaches) > 0 {
		return ErrBreaches
	}
	for _, x := range c.Judged {
		if !x.Lawful() {
			return ErrBreaches
		}
	}
	if len(c.Refused) > 0 {
		return ErrRefused
	}
	return nil
}

// maxPackageBytes bounds a description of packages.
const maxPackageBytes = 16 << 20

// maxPackageCells bounds what one description holds: a lorry has not so many, and each
// is judged by itself. A file of some bytes may say times = 1000000.
const maxPackageCells = 20_000

// CheckPackages judges the packages of a file for a route (blank: the one that the
// file names). A name that ends in .toml is TOML, any other a sheet of readings
// with x_package and the like beside them; - is a sheet on standard input.
func CheckPackages(shop *Shop, name, route string, stdin io.Reader) (*PackageCheck, error) {
	c := &PackageCheck{Shop: shop}
	b := packageBuilder{check: c, file: name}
	var err error
	named := ""
	if strings.EqualFold(filepath.Ext(name), ".toml") {
		named, err = b.readTOML(name)
	} else {
		err = b.readSheet(name, stdin)
	}
	if err != nil {
		return nil, err
	}
	if route == "" {
		route = named
	}
	switch {
	case route == "":
		return nil, Usage("no route was named; give --route us-highway or another of %s", strings.Join(triage.RouteNames(), ", "))
	case named != "" && named != route:
		return nil, Usage("--route says %s and %s says %s; keep one", route, name, named)
	case route == "all":
		return nil, Usage("packages go by one route; give --route once for each")
	}
	list, err := triage.ParseRoutes([]string{route})
	if err != nil {
		return nil, Usage("route: %v", err)
	}
	if c.Route = list[0]; len(c.Packages) == 0 {
		return nil, fmt.Errorf("reading %s: it describes no package; begin one with [[package]], or with a row that has x_package", name)
	}
	c.Judged, c.Breaches = consign.JudgeAll(shop.Rulebook, c.Route, c.Packages)
	return c, nil
}

// packageBuilder turns texts into packages. A text that cannot be read counts as
// not known and is told.
type packageBuilder struct {
	check *PackageCheck
	file  string
	cells int // of all packages so far
}

// put puts a cell into a package n times.
func (b *packageBuilder) put(p *consign.Package, at string, it consign.Item, n int) error {
	if b.cells += n; b.cells > maxPackageCells {
		return fmt.Errorf("reading %s: %s: more than %d cells; describe the packages in several files", b.file, at, maxPackageCells)
	}
	for i := range n {
		one := it
		if n > 1 && it.Tag != "" {
			one.Tag = fmt.Sprintf("%s no. %d", it.Tag, i+1)
		}
		p.Items = append(p.Items, one)
	}
	return nil
}

func (b *packageBuilder) refuse(at, format string, args ...any) {
	b.check.Refused = append(b.check.Refused, fmt.Sprintf("%s %s: %s", b.file, at, fmt.Sprintf(format, args...)))
}

// mass reads a mass with its unit: 12 alone could be grams or kilograms.
func (b *packageBuilder) mass(at, what, text string) triage.Micro {
	if text = strings.TrimSpace(text); text == "" || text == "?" {
		return 0
	}
	if last := text[len(text)-1]; last >= '0' && last <= '9' {
		b.refuse(at, "%s %q has no unit; write it as 12.4 kg or 350 g", what, text)
		return 0
	}
	m, err := triage.ParseQuantity(text, "g", false)
	if err == nil && m <= 0 {
		err = errors.New("a mass is above 0")
	}
	if err != nil {
		b.refuse(at, "%s %q: %v; write it as 12.4 kg or 350 g", what, text, err)
		return 0
	}
	return m
}

// said reads yes or no; anything else is not said.
func (b *packageBuilder) said(at, what, text string) bool {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "yes", "y", "true", "x":
		return true
	case "", "?", "no", "n", "false":
		return false
	}
	b.refuse(at, "%s %q is neither yes nor no", what, text)
	return false
}

// count reads a whole number from least on; ok false is not said.
func (b *packageBuilder) count(at, what, text string, least int) (n int, ok bool) {
	if text = strings.TrimSpace(text); text == "" || text == "?" {
		return 0, false
	}
	if _, err := fmt.Sscanf(text+"\n", "%d\n", &n); err != nil || n < least || n > 1_000_000 {
		b.refuse(at, "%s %q is no whole number from %d on", what, text, least)
		return 0, false
	}
	return n, true
}

// level reads the level of an outer packaging.
func (b *packageBuilder) level(at, text string) string {
	text = strings.ToLower(strings.TrimSpace(text))
	for _, l := range triage.Levels {
		if text == l {
			return l
		}
	}
	if text != "" && text != "?" {
		b.refuse(at, "level %q is none of %s", text, strings.Join(triage.Levels, ", "))
	}
	return ""
}
