package app

import (
	"context"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"pouchward/logbook"
)

// smallDisk is a file system of a size, such as 16k.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("no file system can be mounted here (it takes root): %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// What does not fit on a disk is not written at all, and the error says what to do:
// every export, labels, a strip of tags, papers, a sheet that was sorted.
func TestFullDisk(t *testing.T) {
	shop, p := exportShop(t)
	dir := smallDisk(t, "16k")
	tries := map[string]func(out string) error{
		"labels.pdf": func(out string) error {
			return ReadLog(p, func(l *logbook.Log) error {
				held, err := firstHere(l)
				if err != nil {
					return err
				}
				x, err := Labels(shop, l, []string{held}, p.Now())
				if err == nil {
					_, err = PrintLabels(shop, x, &Print{Out: out})
				}
				return err
			})
		},
		"papers.pdf": func(out string) error {
			return ReadLog(p, func(l *logbook.Log) error {
				sent, err := firstSent(l)
				if err != nil {
					return err
				}
				_, _, err = PrintPapers(l, sent, "", func(day string) (*Shop, error) {
					return OpenShop(day, filepath.Join(filepath.Dir(p.Path), houseName), p.Now())
				}, &Print{Out: out})
				return err
			})
		},
	}
	for _, f := range ExportFormats {
		tries["x"+f.Ending] = func(out string) error {
			_, err := Export(context.Background(), shop, p, &ExportAsk{Format: f.Name, Out: out})
			return err
		}
	}
	tries["x.zip"] = func(out string) error {
		_, err := Export(context.Background(), shop, p, &ExportAsk{Format: "pack", Out: out})
		return err
	}
	for name, try := range tries {
		err := try(filepath.Join(dir, name))
		if err == nil {
			t.Errorf("%s went through", name)
			continue
		}
		if text := err.Error(); !strings.Contains(text, "no space left on device") || strings.Count(text, "make room there, or write to another disk") != 1 {
			t.Errorf("%s: %v", name, err)
		}
		if left := namesIn(t, dir); len(left) > 0 {
			t.Fatalf("%s left %v", name, left)
		}
	}
	if _, err := VerifyLog(p, Held{}, Progress{}); err != nil {
		t.Error(err)
	}
}

// firstHere is a cell that is in the shop, firstSent the first shipment.
func firstHere(l *logbook.Log) (tag string, err error) {
	err = eachEntry(l, func(e *logbook.Entry) bool {
		if e.Kind == "assessment" && len(e.Tags) > 0 {
			if h, here, err := l.HeldAs(e.Tags[0]); err == nil && here && h.Is == logbook.Here {
				tag = e.Tags[0]
			}
		}
		return tag == ""
	})
	return tag, err
}

func firstSent(l *logbook.Log) (tag string, err error) {
	err = eachEntry(l, func(e *logbook.Entry) bool {
		if e.Kind == "shipment" && len(e.Tags) > 0 {
			tag = e.Tags[0]
		}
		return tag == ""
	})
	return tag, err
}

// eachEntry calls fn for entries, from the first, until it returns false.
func eachEntry(l *logbook.Log, fn func(*logbook.Entry) bool) error {
	size, err := l.Size()
	if err != nil {
		return err
	}
	for n := int64(1); n <= size; n++ {
		e, err := l.Entry(n)
		if err != nil || !fn(e) {
			return err
		}
	}
	return nil
}

// A log on a disk that is full: a shipment is packed or it is not, and what is refused
// leaves the log as it was.
func TestShippingOnAFullDisk(t *testing.T) {
	dir := smallDisk(t, "700k")
	p := LogPlace{Path: filepath.Join(dir, "log.db"), Options: logbook.Options{Now: time.Now}}
	if _, err := InitLog(p, "Back room (invented)"); err != nil {
		t.Fatal(err)
	}
	s, err := newShipper(p.Path, "bench")
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	acts := 0
	for err == nil && acts < 5000 {
		err = s.ship(func(string) { acts++ })
	}
	if err == nil || !strings.Contains(err.Error(), "nothing was recorded") || acts < 5 {
		t.Fatalf("%d acts, then %v", acts, err)
	}
	before, err2 := s.log.Tree()
	r, err3 := VerifyLog(p, Held{}, Progress{})
	if err2 != nil || err3 != nil || r.Tree != before {
		t.Errorf("%v, %v, %v", r, err2, err3)
	}
	t.Logf("%d acts were acknowledged, %d entries verify, then: %v", acts, r.Tree.Size, err)
}
