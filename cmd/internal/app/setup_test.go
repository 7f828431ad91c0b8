package app

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
	"pouchward/triage"
)

func plan(t *testing.T, dir string, tags int) *SetupPlan {
	t.Helper()
	now := func() time.Time { return time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC) }
	return &SetupPlan{Dir: dir, Tags: tags, Log: LogPlace{Path: filepath.Join(dir, "pouchward.db"), Options: logbook.Options{Now: now}}}
}

func names(t *testing.T, dir string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

// meddler makes a file while the questions are asked.
type meddler struct{ name string }

func (m meddler) Read([]byte) (int, error) {
	if err := os.WriteFile(m.name, []byte("mine\n"), 0o644); err != nil {
		return 0, err
	}
	return 0, io.EOF
}

// A file that stands in the way at the last moment takes all the others away,
// and stays as it was.
func TestSetUpWritesAllOrNone(t *testing.T) {
	for _, name := range []string{houseName, wallName, dayName, tagsName, "pouchward.db", "pouchward.db.key"} {
		dir := t.TempDir()
		_, err := SetUp(plan(t, dir, 3), meddler{filepath.Join(dir, name)}, io.Discard)
		if err == nil || !strings.Contains(err.Error(), name+": it is there already") {
			t.Errorf("%s: %v", name, err)
		}
		if got := names(t, dir); !slices.Equal(got, []string{name}) {
			t.Errorf("%s: the folder holds %q", name, got)
		}
		if data, _ := os.ReadFile(filepath.Join(dir, name)); string(data) != "mine\n" {
			t.Errorf("%s was changed to %q", name, data)
		}
	}
}

// The block stays reserved where the log was there before and the sheets could
// not be written: a tag is wasted, never given twice.
func TestSetUpIntoALogThatIsThere(t *testing.T) {
	dir := t.TempDir()
	p := plan(t, dir, 3)
	if _, err := InitLog(p.Log, "Back room"); err != nil {
		t.Fatal(err)
	}
	_, err := SetUp(p, meddler{filepath.Join(dir, tagsName)}, io.Discard)
	if err == nil || !strings.Contains(err.Error(), "the tags of entry 2 of the log stay reserved") {
		t.Fatalf("got %v", err)
	}
	if err := os.Remove(filepath.Join(dir, tagsName)); err != nil {
		t.Fatal(err)
	}
	m, err := SetUp(p, strings.NewReader(""), io.Discard)
	if err != nil {
		t.Fatal(err)
	}
	if m.Public != "" || m.Entry != 3 {
		t.Errorf("a new key %q, entry %d; want the log kept and entry 3", m.Public, m.Entry)
	}
	err = ReadLog(p.Log, func(l *logbook.Log) error {
		lost, err := l.Entry(2)
		if err != nil {
			return err
		}
		for _, tag := range lost.Tags {
			if slices.Contains(m.Block, tag) {
				t.Errorf("tag %s is in two blocks", tag)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// remover takes a folder away while the questions are asked.
type remover struct{ dir string }

func (r remover) Read([]byte) (int, error) {
	if err := os.RemoveAll(r.dir); err != nil {
		return 0, err
	}
	return 0, io.EOF
}

// Sheets that cannot be written reserve nothing.
func TestSetUpReservesNothingWithoutSheets(t *testing.T) {
	p := plan(t, t.TempDir(), 3)
	if _, err := InitLog(p.Log, "Back room"); err != nil {
		t.Fatal(err)
	}
	p.Dir = t.TempDir()
	if _, err := SetUp(p, remover{p.Dir}, io.Discard); err == nil || !strings.Contains(err.Error(), "creating ") {
		t.Errorf("got %v", err)
	}
	err := ReadLog(p.Log, func(l *logbook.Log) error {
		if size, err := l.Size(); err != nil || size != 1 {
			t.Errorf("the log has %d entries, %v", size, err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Every key that the questions fill is a key of the house file, and each of its
// keys has a question.
func TestQuestionsCoverTheHouseFile(t *testing.T) {
	p := plan(t, t.TempDir(), 1)
	line := map[string]string{"country": "DE", "time_zone": "UTC", "opens": "9-18", "closed_days": "none", "fire_service": "112",
		"emergency_number": "1", "solo": "yes", "origin": "trade", "recall_list": ""}
	given := answers{}
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for i := range shopQuestions {
		q := &shopQuestions[i]
		text, ok := line[q.keys[0].name]
		if !ok {
			text = "answer"
		}
		if text == "" {
			continue
		}
		if given, err = q.answered(p, tables, given, text); err != nil {
			t.Fatalf("%s: %v", q.ask, err)
		}
	}
	text := string(houseText(given, p.Now()))
	for f := range reflect.TypeFor[triage.Shop]().Fields() {
		if key := f.Tag.Get("toml"); strings.Count(text, " "+key+" = ")+strings.Count(text, "\n"+key+" = ") != 1 {
			t.Errorf("the key %s of the house file stands %d times in\n%s", key, strings.Count(text, " "+key+" = ")+strings.Count(text, "\n"+key+" = "), text)
		}
	}
	house, err := triage.ParseHouse("house.toml", []byte(text), tables)
	if err != nil {
		t.Fatal(err)
	}
	want := triage.Shop{Site: "answer", Country: "DE", State: "answer", Origin: "trade", TimeZone: "UTC", Solo: true, Opens: "09:00", Closes: "18:00",
		ClosedDays: []string{}, FireService: "112", EmergencyNumber: "1", EmergencyNumberBy: "answer", IsolationPlace: "answer", StorePlace: "answer", Consignee: "answer"}
	got := house.Shop
	if !slices.Equal(got.ClosedDays, want.ClosedDays) {
		t.Errorf("closed days %q", got.ClosedDays)
	}
	got.ClosedDays, want.ClosedDays = nil, nil
	if a, b := fmt.Sprintf("%+v", got), fmt.Sprintf("%+v", want); a != b {
		t.Errorf("got\n%s\nwant\n%s", a, b)
	}
}

// Each commented-out key can be filled in where it stands.
func TestOpenKeysAreComments(t *testing.T) {
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	text := string(houseText(answers{}, time.Unix(0, 0)))
	for _, q := range shopQuestions {
		for _, k := range q.keys {
			open := "# " + k.name + " = " + k.empty + "\n"
			if !strings.Contains(text, open) {
				t.Errorf("no line %q", open)
			}
			if _, err := triage.ParseHouse("house.toml", []byte(strings.Replace(text, open, open[2:], 1)), tables); err != nil {
				t.Errorf("%s without its #: %v", k.name, err)
			}
		}
	}
}

func TestAnswersSurviveQuoting(t *testing.T) {
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{`Müller & Söhne`, `Εργαστήριο`, `the "back" room`, `C:\new\table`, `ends in \`, `"""`, `a\nb`, `# not a comment`, `x = "y"`, `\u0041`, "tab\tand\x7fdel"} {
		house, err := triage.ParseHouse("house.toml", houseText(answers{"site": tomlText(name)}, time.Unix(0, 0)), tables)
		if err != nil || house.Shop.Site != name {
			t.Errorf("%q: %v", name, err)
		} else if house.Shop.State != "" {
			t.Errorf("%q reached another key", name)
		}
	}
}

func TestReadAnswers(t *testing.T) {
	for _, c := range []struct {
		read func(*SetupPlan, string) ([]string, error)
		text string
		want string // blank: refused
	}{
		{readHours, "09:00-18:00", `"09:00" "18:00"`},
		{readHours, "9 - 18", `"09:00" "18:00"`},
		{readHours, "9am to 5:30 PM", `"09:00" "17:30"`},
		{readHours, "8.30 – 12.00", `"08:30" "12:00"`},
		{readHours, "9", ""},
		{readHours, "9-24", ""},
		{readHours, "9-", ""},
		{readDays, "none", "[]"},
		{readDays, "Sat, sun", `["saturday", "sunday"]`},
		{readDays, "sundays and Mondays", `["sunday", "monday"]`},
		{readDays, "sun sunday", `["sunday"]`},
		{readDays, "t", ""},
		{readDays, "Sonntag", ""},
		{readYesNo, "Y", "true"},
		{readYesNo, "no", "false"},
		{readYesNo, "1", ""},
		{readZone, "Europe/Berlin", `"Europe/Berlin"`},
		{readZone, "Local", ""},
		{readZone, "../Berlin", ""},
		{readUpper, "gb", `"GB"`},
		{readUpper, "Bavaria", `"Bavaria"`},
	} {
		got, err := c.read(nil, c.text)
		if text := strings.Join(got, " "); text != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%q: got %s, %v; want %s", c.text, text, err, c.want)
		}
	}
}
