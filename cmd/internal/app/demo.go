package app

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

// The files of the demo besides those of a set-up.
const (
	demoLogName     = "pouchward.db"
	demoRecallsName = "recalls.csv"
	demoIntakeName  = "intake-today.csv"
	demoReadmeName  = "README.txt"
	demoCheckName   = "year.checkpoint"
	demoPlantsName  = "planted-faults.tsv"
)

// demoDays is the length of the year.
const demoDays = 365

// A Demoed says what the demo made.
type Demoed struct {
	Dir     string
	On      triage.Date // the day after its last
	Entries int64
	Cells   int   // that came in
	Stock   int64 // that are in the shop on the day
	Paper   string
}

// Demo writes an invented shop with a year of life up to a day into a folder that
// is not there or empty: all of it or nothing. The same day makes the same files
// and the same entries, byte for byte; the log's file may differ in bytes, its
// entries and its root never do.
func Demo(dir string, on triage.Date) (_ *Demoed, err error) {
	sweep(dir) // what a demo that was killed left in it
	there, err := emptyFolder(dir)
	if err != nil {
		return nil, err
	}
	beside := filepath.Dir(filepath.Clean(dir))
	if there {
		beside = dir
	}
	temp, free, err := tempFolder(beside, "demo")
	if err != nil {
		return nil, fmt.Errorf("making the demo in %s: %w", dir, err)
	}
	defer free()
	defer os.RemoveAll(temp)
	made, err := demoInto(temp, on)
	if err != nil {
		return nil, fmt.Errorf("making the demo: %w; nothing was written", err)
	}
	if err := settleIn(temp, dir, there); err != nil {
		return nil, fmt.Errorf("making the demo in %s: %w", dir, err)
	}
	made.Dir = dir
	return made, nil
}

// emptyFolder reports whether a folder is there; one with something in it is
// refused.
func emptyFolder(dir string) (there bool, err error) {
	list, err := os.ReadDir(dir)
	switch {
	case dir == "":
		return false, Usage("name the folder to write into: --dir demo")
	case err == nil && len(list) > 0:
		return true, fmt.Errorf("%s is not empty (%s), and the demo replaces nothing: name a folder that is not there (--dir)", dir, list[0].Name())
	case err == nil:
		return true, nil
	case errors.Is(err, fs.ErrNotExist) && !taken(dir):
		return false, nil
	}
	return false, fmt.Errorf("making the demo in %s: %w; name a folder that is not there", dir, err)
}

// settleIn gives what was made its name: the folder as a whole, or where an
// empty one is there, each of its files in it.
func settleIn(temp, dir string, there bool) (err error) {
	if !there {
		if err := os.Chmod(temp, 0o755); err != nil {
			return err
		}
		return os.Rename(temp, dir)
	}
	list, err := os.ReadDir(temp)
	if err != nil {
		return err
	}
	var placed []string
	defer func() {
		if err != nil {
			for _, name := range placed {
				err = errors.Join(err, os.RemoveAll(name))
			}
		}
	}()
	for _, f := range list {
		name := filepath.Join(dir, f.Name())
		if taken(name) {
			return fmt.Errorf("%s is there already", name)
		}
		if err := os.Rename(filepath.Join(temp, f.Name()), name); err != nil {
			return err
		}
		placed = append(placed, name)
	}
	return nil
}

// demoKey is the key of every demo.
func demoKey() logbook.KnownKey {
	k := logbook.KnownKey{Name: "pouchward-demo/invented"}
	copy(k.Seed[:], "pouchward demo: anybody has this")
	return k
}

// demoInto fills a folder.
func demoInto(dir string, on triage.Date) (*Demoed, error) {
	y, err := newDemoYear(on)
	if err != nil {
		return nil, err
	}
	place := LogPlace{Path: filepath.Join(dir, demoLogName), Site: demoSite, Options: logbook.Options{Now: func() time.Time { return y.now }, Zone: demoZone}}
	y.scratch = filepath.Join(dir, ".scratch")
	if err := os.Mkdir(y.scratch, 0o755); err != nil {
		return nil, err
	}
	made, cp, err := y.live(place)
	if err != nil {
		return nil, err
	}
	if err := os.RemoveAll(y.scratch); err != nil {
		return nil, err
	}
	plants, err := y.plantsTSV()
	if err != nil {
		return nil, err
	}
	some, isolated, kept := y.examples()
	for _, f := range []struct {
		name string
		text []byte
	}{{houseName, []byte(demoHouse)}, {demoRecallsName, demoRecallsCSV(on)}, {demoCheckName, cp.Text}, {demoIntakeName, []byte(y.intake())},
		{demoPlantsName, plants}, {demoReadmeName, []byte(demoReadme(on, some, isolated, kept))}} {
		err := WriteWhole(filepath.Join(dir, f.name), func(w io.Writer) error {
			_, err := w.Write(f.text)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	// The house file is read back as every command will read it.
	_, _, err = CheckHouse(filepath.Join(dir, houseName))
	return made, err
}
