package triage

// The open-circuit voltage curves and their inverse.
//
// A curve file is text: lines that begin with # first (title, then how it was made; one opens "# Source:", one
// "# Licence:"), then the heading soc,volts with any further columns, then rows of ascending charge from 0 to 1 and
// strictly ascending volts per cell at 25 °C. The inverse, charge as a function of volts, is the Fritsch-Butland
// monotone cubic through the rows; it is tabulated every 0.25 mV from 2.0 to 4.6 V, so a lookup is one index and one
// straight line. Beyond its rows a curve runs on in a straight line, by its end segment, or by modelV for the base of
// the model: answers about charge are clamped, answers about slope need the line.

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"sync"
)

//go:embed curves/*.csv curves/LICENSE-PyBaMM.txt
var curveFS embed.FS

// A CurveID names one embedded curve.
type CurveID uint8

const (
	CurveCobalt     CurveID = iota // base of the model for every limited charge voltage
	CurveMeasured                  // a 4.20 V cobalt cell discharged at a tenth of its rating per hour
	CurveClosedForm                // published closed form of an early 4.1-4.2 V polymer cell
	CurveNickel                    // nickel-rich positive electrode, 4.20 V
	CurveIron                      // iron phosphate, 3.60 V
	curveLookups                   // the curves above have a table of their own

	// Grids of the model at the common limits. The interval scales CurveCobalt to the cell's own limit instead; the
	// grids are what the model is checked against, and what a reader can plot.
	CurveGrid420 CurveID = iota - 1
	CurveGrid435
	CurveGrid440
	CurveGrid445
	CurveGrid448
	curveCount
)

var curveFiles = [curveCount]struct {
	file  string
	limit Micro // limited charge voltage per cell of the cell behind the curve
}{
	CurveCobalt:     {"ocv-lco-4v20-ai2020.csv", 4_200_000},
	CurveMeasured:   {"ocv-lco-4v20-measured-0.1C.csv", 4_200_000},
	CurveClosedForm: {"ocv-lco-4v20-crm2006.csv", 4_100_000}, // its full cell reads 4.103 V
	CurveNickel:     {"ocv-nmc811-4v20-chen2020.csv", 4_200_000},
	CurveIron:       {"ocv-lfp-3v60-prada2013.csv", 3_600_000},
	CurveGrid420:    {"ocv-scaled-4v20.csv", 4_200_000},
	CurveGrid435:    {"ocv-scaled-4v35.csv", 4_350_000},
	CurveGrid440:    {"ocv-scaled-4v40.csv", 4_400_000},
	CurveGrid445:    {"ocv-scaled-4v45.csv", 4_450_000},
	CurveGrid448:    {"ocv-scaled-4v48.csv", 4_480_000},
}

// A CurveSet is a set of curves; the zero value is empty.
type CurveSet uint16

// curveSetOf makes a set.
func curveSetOf(ids ...CurveID) CurveSet {
	var s CurveSet
	for _, id := range ids {
		s |= 1 << id
	}
	return s
}

// Has reports whether the set holds the curve.
func (s CurveSet) Has(id CurveID) bool { return s>>id&1 == 1 }

// A CurveInfo is what a reader needs to judge a curve. The texts are the file's own header lines.
type CurveInfo struct {
	ID      CurveID
	File    string // name below curves/
	Title   string
	Source  string
	Licence string
	Limit   Micro // µV per cell
}

// Curves lists the set's curves in the order of their ids.
func (s CurveSet) Curves() []CurveInfo {
	t, err := loadedCurves()
	if err != nil {
		return nil
	}
	var out []CurveInfo
	for id := range curveCount {
		if s.Has(id) {
			out = append(out, t.info[id])
		}
	}
	return out
}

// loadedCurves loads on first use, never in init.
var loadedCurves = sync.OnceValues(func() (*curveTables, error) { return loadCurves(curveFS) })

type curveTables struct {
	inv  [curveLookups]curveTable
	info [curveCount]CurveInfo
	rows [curveCount]curveRows
}

// curveRows are a file's rows: percent 0..100 and volts.
type curveRows struct{ pct, volts []float64 }

// loadCurves reads and tabulates every curve below fsys, and reports everything wrong with any of them.
func loadCurves(fsys fs.FS) (*curveTables, error) {
	t := new(curveTables)
	var errs []error
	for id := range curveCount {
		name := "curves/" + curveFiles[id].file
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			errs = append(errs, fmt.Errorf("reading curve %s: %w", name, err))
			continue
		}
		info, rows, err := parseCurve(name, string(text))
		if err == nil && id < curveLookups {
			err = t.inv[id].fill(id, rows)
		}
		if err != nil {
			errs = append(errs, err)
			continue
		}
		info.ID, info.File, info.Limit = id, curveFiles[id].file, curveFiles[id].limit
		t.info[id], t.rows[id] = info, rows
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	return t, nil
}

// parseCurve reads one file; errors name file, line and column and are all reported.
func parseCurve(name, text string) (info CurveInfo, rows curveRows, err error) {
	var errs []error
	heading := false
	for n, line := range strings.Split(strings.TrimRight(text, "\r\n"), "\n") {
		line = strings.TrimRight(line, "\r")
		if c, ok := strings.CutPrefix(line, "# "); ok && !heading {
			if s, ok := strings.CutPrefix(c, "Source: "); ok {
				info.Source = s
			} else if s, ok := strings.CutPrefix(c, "Licence: "); ok {
				info.Licence = s
			} else if info.Title == "" {
				info.Title = c
			}
			continue
		}
		fail := func(col int, format string, args ...any) {
			errs = append(errs, fmt.Errorf("%s:%d:%d: %s", name, n+1, col, fmt.Sprintf(format, args...)))
		}
		cells := strings.Split(line, ",")
		if !heading {
			if heading = len(cells) >= 2 && cells[0] == "soc" && cells[1] == "volts"; !heading {
				fail(1, "want a comment or the heading soc,volts, not %q", line)
				break
			}
			continue
		}
		if len(cells) < 2 {
			fail(1, "want soc,volts, not %q", line)
			continue
		}
		soc, e1 := strconv.ParseFloat(cells[0], 64)
		volts, e2 := strconv.ParseFloat(cells[1], 64)
		last := len(rows.pct) - 1
		switch { // each comparison is written so that a NaN fails it
		case e1 != nil || !(soc >= 0 && soc <= 1):
			fail(1, "soc %q is not a number from 0 to 1", cells[0])
		case e2 != nil || !(volts > 0 && volts < 5):
			fail(2, "volts %q is not a number between 0 and 5", cells[1])
		case last >= 0 && !(soc*100 > rows.pct[last]):
			fail(1, "soc %q does not rise", cells[0])
		case last >= 0 && !(volts > rows.volts[last]):
			fail(2, "volts %q does not rise", cells[1])
		default:
			rows.pct, rows.volts = append(rows.pct, soc*100), append(rows.volts, volts)
		}
	}
	if k := len(rows.pct); len(errs) == 0 && (k < 10 || rows.pct[0] != 0 || rows.pct[k-1] != 100) {
		errs = append(errs, fmt.Errorf("%s: want at least 10 rows from soc 0 to 1, have %d", name, k))
	}
	if info.Title == "" || info.Source == "" || info.Licence == "" {
		errs = append(errs, fmt.Errorf("%s: the header lacks a title, a Source or a Licence line", name))
	}
	return info, rows, errors.Join(errs...)
}
