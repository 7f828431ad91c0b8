package app

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

func date(t *testing.T, s string) triage.Date {
	t.Helper()
	d, err := triage.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// An answer holds up to the day before it lapses; what is odd about one never
// silences its question. The entries are written past AnswerLocal, which
// refuses them.
func TestOddAnswersAnswerNothing(t *testing.T) {
	shop, err := OpenShop("2026-11-25", "", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	id := shop.Rulebook.Locals()[0].ID
	for _, c := range []struct {
		body, on, state string
	}{
		{`{"subject":"local-rule","about":"` + id + `","answer":"yes"}`, "2026-11-25", exports.LocalAnswered},
		{`{"subject":"local-rule","about":"` + id + `","answer":"yes","lapses":"2026-11-26"}`, "2026-11-25", exports.LocalAnswered},
		{`{"subject":"local-rule","about":"` + id + `","answer":"yes","lapses":"2026-11-26"}`, "2026-11-26", exports.LocalLapsed},
		{`{"subject":"local-rule","about":"` + id + `","answer":"yes","lapses":"2026-11-26"}`, "2026-11-27", exports.LocalLapsed},
		{`{"subject":"local-rule","about":"` + id + `","answer":"yes","lapses":"next year"}`, "2026-11-25", exports.LocalLapsed},
		{`{"subject":"local-rule","about":"` + id + `","answer":" "}`, "2026-11-25", exports.LocalOpen},
		{`{"subject":"local-rule","about":"` + id + `"}`, "2026-11-25", exports.LocalOpen},
		{`{"subject":"local-rule","about":"` + id + `","answer":7}`, "2026-11-25", ""},
		{`{"subject":"local-rule","about":"another","answer":"yes"}`, "2026-11-25", exports.LocalOpen},
		{`{"subject":"training","about":"` + id + `","answer":"yes"}`, "2026-11-25", exports.LocalOpen},
	} {
		place := LogPlace{Path: filepath.Join(t.TempDir(), "shop.db"), Options: logbook.Options{Now: time.Now}}
		if _, err := InitLog(place, "invented"); err != nil {
			t.Fatal(err)
		}
		body, err := logbook.ParseBody([]byte(c.body))
		if err != nil {
			t.Fatal(err)
		}
		var rows []exports.LocalRow
		err = WriteLog(place, func(l *logbook.Log) error {
			if _, err := l.Append(logbook.Draft{Kind: "record", Body: body}); err != nil {
				return err
			}
			var err error
			rows, err = Locals(l, shop.Rulebook, date(t, c.on))
			if c.state == "" {
				if err == nil {
					t.Errorf("%s: no error", c.body)
				}
				return nil
			}
			return err
		})
		if err != nil {
			t.Fatalf("%s: %v", c.body, err)
		}
		if c.state != "" && rows[0].State != c.state {
			t.Errorf("%s on %s is %s, want %s", c.body, c.on, rows[0].State, c.state)
		}
		if got, want := OpenLocals(place, shop.Rulebook, date(t, c.on))(id), c.state == exports.LocalAnswered; got != want {
			t.Errorf("%s on %s: answered %v", c.body, c.on, got)
		}
	}
}

// A log that cannot be read answers nothing, and holds no card up.
func TestOpenLocalsWithoutLog(t *testing.T) {
	shop, err := OpenShop("2026-11-25", "", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.db")
	if err := os.WriteFile(bad, []byte("no log"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{filepath.Join(dir, "none.db"), bad, dir} {
		answered := OpenLocals(LogPlace{Path: name, Options: logbook.Options{Now: time.Now}}, shop.Rulebook, shop.Rulebook.On)
		for _, q := range shop.Rulebook.Locals() {
			if answered(q.ID) {
				t.Errorf("%s answers %s", name, q.ID)
			}
		}
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 1 {
		t.Errorf("left behind: %v, %v", list, err)
	}
}
