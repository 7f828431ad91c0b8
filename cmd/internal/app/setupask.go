package app

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pouchward/triage"
)

// answers are the keys of [shop] that were answered, with their values as TOML.
type answers map[string]string

// open counts the keys that were not answered.
func (a answers) open() int {
	n := -len(a)
	for i := range shopQuestions {
		n += len(shopQuestions[i].keys)
	}
	return n
}

// A shopKey is a key of the house file: what is written when it was not
// answered, and what it means.
type shopKey struct{ name, empty, meaning string }

// A shopQuestion asks for one line that fills its keys.
type shopQuestion struct {
	ask   string
	keys  []shopKey
	needs string // asked only when this key was answered
	// read turns the line into one TOML value for each key. What the house file's
	// own check would refuse is refused by it, and not here.
	read func(p *SetupPlan, text string) ([]string, error)
}

// shopQuestions in the order of asking.
var shopQuestions = []shopQuestion{
	{ask: "Name of the site", read: readText,
		keys: []shopKey{{"site", `""`, "Stands on every sheet."}}},
	{ask: "Country (two letters, such as US, DE, GB)", read: readUpper,
		keys: []shopKey{{"country", `""`, "Two capital letters. Decides the waste law that is printed; without it the United States' federal baseline stands in."}}},
	{ask: "State or region (in the US two letters, such as CA)", read: readUpper,
		keys: []shopKey{{"state", `""`, "A state may ask more than the baseline; without it the card says so."}}},
	{ask: "Time zone (such as Europe/Berlin or America/Chicago)", read: readZone,
		keys: []shopKey{{"time_zone", `""`, "Of the times in the log, such as Europe/Berlin; without it the machine's."}}},
	{ask: "Opening hours (such as 09:00-18:00)", read: readHours,
		keys: []shopKey{{"opens", `""`, "Hours and minutes of 24 h, such as 09:00; give both or neither. They decide when somebody can look again."}, {"closes", `""`, ""}}},
	{ask: "Closed on (such as saturday sunday, or none)", read: readDays,
		keys: []shopKey{{"closed_days", `[]`, `Lower-case English weekdays, such as ["sunday"].`}}},
	{ask: "Telephone of the fire service", read: readText,
		keys: []shopKey{{"fire_service", `""`, "The number on the wall sheet and the emergency card."}}},
	{ask: "Emergency telephone for shipments", read: readText,
		keys: []shopKey{{"emergency_number", `""`, "The number on shipping papers, where a way asks for one."}}},
	{ask: "Who answers that telephone", needs: "emergency_number", read: readText,
		keys: []shopKey{{"emergency_number_by", `""`, "Who answers it, and under what contract; needs emergency_number."}}},
	{ask: "Isolation place, for damaged and suspect cells", read: readText,
		keys: []shopKey{{"isolation_place", `""`, "Where a damaged or suspect cell goes: fire-resistant or outdoors."}}},
	{ask: "Store place, for cells that wait for recycling", read: readText,
		keys: []shopKey{{"store_place", `""`, "Where cells with no damage seen wait."}}},
	{ask: "May one person alone lower a class? Two are asked for otherwise (yes, no)", read: readYesNo,
		keys: []shopKey{{"solo", `false`, "A determination lowers a class that a sign gave. It takes two persons; true lets one do it alone, and the log shows that it was one."}}},
	{ask: "Recycler that the cells go to", read: readText,
		keys: []shopKey{{"consignee", `""`, "The consignee on shipping papers."}}},
	{ask: "Recall list, a CSV file (part, notice, read_on)", read: readRecalls,
		keys: []shopKey{{"recall_list", `""`, "Path from this file. It answers recalled; one read more than 30 days ago clears no part."}}},
	{ask: "Origin of the waste, for European codes (municipal, trade)", read: readLower,
		keys: []shopKey{{"origin", `""`, "municipal (households and the like) or trade; without it the codes of both are printed."}}},
}

// askShop puts the questions and returns what was answered. The end of the input
// ends the asking: what is left is not answered.
func askShop(p *SetupPlan, in io.Reader, out io.Writer) (answers, error) {
	tables, err := triage.Embedded()
	if err != nil {
		return nil, fmt.Errorf("loading the embedded rule tables: %w", err)
	}
	lines := bufio.NewScanner(in)
	given := answers{}
	fmt.Fprintf(out, "%d questions. Blank: not known yet; it stays in %s as a comment, to be filled in later.\n", len(shopQuestions), houseName)
	for i := range shopQuestions {
		q := &shopQuestions[i]
		if q.needs != "" && given[q.needs] == "" {
			continue
		}
		for {
			fmt.Fprintf(out, "%s: ", q.ask)
			if !lines.Scan() {
				fmt.Fprintln(out)
				return given, lines.Err()
			}
			text := strings.TrimSpace(lines.Text())
			if text == "" || text == "?" {
				break
			}
			with, err := q.answered(p, tables, given, text)
			if err == nil {
				given = with
				break
			}
			fmt.Fprintf(out, "  %s\n", strings.ReplaceAll(strings.TrimPrefix(err.Error(), "shop: "), "\n", "; "))
		}
	}
	fmt.Fprintln(out)
	return given, nil
}

// answered returns the answers with one more, or why it is refused. The house
// file's own check has the last word, so that what is written can be read.
func (q *shopQuestion) answered(p *SetupPlan, tables triage.Tables, given answers, text string) (answers, error) {
	if at := strings.IndexFunc(text, func(r rune) bool { return !unicode.IsPrint(r) || r == utf8.RuneError }); at >= 0 {
		return nil, fmt.Errorf("there is a character that does not print after %q: type the line again", text[:at])
	}
	if n := utf8.RuneCountInString(text); n > longestAnswer {
		return nil, fmt.Errorf("%d characters, and %d fit on a sheet: shorten it", n, longestAnswer)
	}
	values, err := q.read(p, text)
	if err != nil {
		return nil, err
	}
	with := maps.Clone(given)
	for i, k := range q.keys {
		with[k.name] = values[i]
	}
	if _, err := triage.ParseHouse(houseName, houseText(with, p.Now()), tables); err != nil {
		if inner := errors.Unwrap(err); inner != nil {
			err = inner // without the name of a file that is not there yet
		}
		return nil, err
	}
	return with, nil
}

// longestAnswer bounds an answer in characters: the name of a site is at most
// 400 bytes in an entry of the log.
const longestAnswer = 100

func readText(_ *SetupPlan, text string) ([]string, error) { return []string{tomlText(text)}, nil }

func readUpper(p *SetupPlan, text string) ([]string, error) {
	if len(text) == 2 {
		text = strings.ToUpper(text)
	}
	return readText(p, text)
}

func readLower(p *SetupPlan, text string) ([]string, error) {
	return readText(p, strings.ToLower(text))
}

func readZone(p *SetupPlan, text string) ([]string, error) {
	if _, err := loadZone(text); err != nil {
		return nil, err
	}
	return readText(p, text)
}

// loadZone loads a time zone by its name in the IANA database. "Local" is not a
// zone: it would be another one on the next machine.
func loadZone(name string) (*time.Location, error) {
	loc, err := time.LoadLocation(name)
	if err != nil || loc == time.Local {
		return nil, fmt.Errorf("no time zone %q: write region and city, such as Europe/Berlin or America/Chicago", name)
	}
	return loc, nil
}

// readHours reads "9-18", "09:00 to 18:00" or "9am - 5:30pm".
func readHours(_ *SetupPlan, text string) ([]string, error) {
	from, to, ok := strings.Cut(strings.NewReplacer("\u2013", "-", " to ", "-").Replace(strings.ToLower(text)), "-")
	if !ok {
		return nil, fmt.Errorf("hours %q: write both, such as 09:00-18:00", text)
	}
	opens, err := readClock(from)
	if err != nil {
		return nil, err
	}
	closes, err := readClock(to)
	if err != nil {
		return nil, err
	}
	return []string{tomlText(opens), tomlText(closes)}, nil
}

func readClock(text string) (string, error) {
	text = strings.ReplaceAll(strings.TrimSpace(text), " ", "")
	for _, form := range []string{"15:04", "15.04", "15", "3:04pm", "3pm"} {
		if t, err := time.Parse(form, text); err == nil {
			return t.Format("15:04"), nil
		}
	}
	return "", fmt.Errorf("time %q: write hours and minutes of 24 h, such as 09:00", text)
}

// weekdays are the words of the house file.
var weekdays = []string{"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"}

// readDays reads weekdays by their first letters, two at least, or "none".
func readDays(_ *SetupPlan, text string) ([]string, error) {
	if strings.EqualFold(text, "none") {
		return []string{"[]"}, nil
	}
	var days []string
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;+.", r) }) {
		lower := strings.ToLower(word)
		i := slices.IndexFunc(weekdays, func(d string) bool { return len(lower) >= 2 && strings.HasPrefix(d+"s", lower) })
		switch {
		case lower == "and":
		case i < 0:
			return nil, fmt.Errorf("day %q: write English weekdays with spaces between, such as saturday sunday, or none", word)
		case !slices.Contains(days, tomlText(weekdays[i])):
			days = append(days, tomlText(weekdays[i]))
		}
	}
	return []string{"[" + strings.Join(days, ", ") + "]"}, nil
}

func readYesNo(_ *SetupPlan, text string) ([]string, error) {
	switch strings.ToLower(text) {
	case "yes", "y":
		return []string{"true"}, nil
	case "no", "n":
		return []string{"false"}, nil
	}
	return nil, fmt.Errorf("%q: write yes or no, or leave it blank (two persons are asked for then)", text)
}

// readRecalls reads the list through: a house file whose list cannot be read
// judges nothing.
func readRecalls(p *SetupPlan, text string) ([]string, error) {
	name := text
	if !filepath.IsAbs(name) {
		name = filepath.Join(p.Dir, name)
	}
	if _, err := LoadRecalls(name); err != nil {
		return nil, fmt.Errorf("%w: make it first, or leave this blank", err)
	}
	return readText(p, text)
}
