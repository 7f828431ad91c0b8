package app

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pouchward/exports/table"
)

// opened is an exporter of a log that has been verified and surveyed.
func opened(t *testing.T, shop *Shop, p LogPlace, ask ExportAsk) *exporter {
	t.Helper()
	ask.Out = filepath.Join(t.TempDir(), "out")
	e := &exporter{ctx: context.Background(), shop: shop, ask: &ask}
	if err := e.check(p); err != nil {
		t.Fatal(err)
	}
	e.begin()
	var err error
	if e.log, e.report, err = OpenVerified(p, Progress{}, e.surveyed); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { e.log.Close() })
	if err := e.look(); err != nil {
		t.Fatal(err)
	}
	return e
}

// A table that is fed has the bytes of one that reads the log by itself.
func TestFedTables(t *testing.T) {
	shop, p := exportShop(t)
	for _, ask := range []ExportAsk{{Format: "csv"}, {Format: "csv", From: "2026-03-01", To: "2026-05-31"}} {
		e := opened(t, shop, p, ask)
		dir := t.TempDir()
		if err := e.files(dir, "", e.chosen()); err != nil {
			t.Fatal(err)
		}
		for _, name := range fedTables {
			var alone bytes.Buffer
			if err := table.CSV(&alone, e.table(name), ""); err != nil {
				t.Fatal(err)
			}
			got, err := os.ReadFile(filepath.Join(dir, name+".csv"))
			if err != nil || !bytes.Equal(got, alone.Bytes()) || len(got) < 10_000 {
				t.Errorf("%s: %d bytes fed, %d read by itself: %v", name, len(got), alone.Len(), err)
			}
		}
	}
}

// One table that cannot be written ends all, and nobody waits for it.
func TestOneTableFails(t *testing.T) {
	shop, p := exportShop(t)
	e := opened(t, shop, p, ExportAsk{Format: "csv"})
	full := errors.New("the disk is full")
	for _, name := range []string{"summary", "cells", "assessments", "movements", "entries"} {
		ended := make(chan error, 1)
		go func() {
			ended <- e.beside(e.chosen(), func(x *table.Table) error {
				if x.Name == name {
					return full
				}
				return table.CSV(io.Discard, x, "")
			})
		}()
		select {
		case err := <-ended:
			if !errors.Is(err, full) {
				t.Errorf("%s: %v", name, err)
			}
		case <-time.After(5 * time.Minute):
			t.Fatalf("%s cannot be written, and the others wait", name)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	e.ctx = ctx
	stop()
	if err := e.beside(e.chosen(), func(x *table.Table) error { return table.CSV(io.Discard, x, "") }); !errors.Is(err, context.Canceled) {
		t.Errorf("ended by hand: %v", err)
	}
}
