package app

import (
	"path/filepath"
	"testing"

	"pouchward/triage"
)

func TestProf(t *testing.T) {
	on, _ := triage.ParseDate("2026-11-25")
	if _, err := Demo(filepath.Join(t.TempDir(), "d"), on); err != nil {
		t.Fatal(err)
	}
}
