package app

import (
	"encoding/json"
	"strings"
	"unicode"
	"unicode/utf8"

	"pouchward/triage"
)

// placeName reads the name of a place, blank for none: one name, however many
// blanks were typed in it, so that "Y 1 " and "Y  1" are one shelf.
func placeName(flag, text string) (string, error) {
	name := strings.Join(strings.Fields(text), " ")
	switch {
	case name == "" && text != "":
		return "", Usage("%s %q: a place's name is not blank", flag, text)
	case utf8.RuneCountInString(name) > 60:
		return "", Usage("%s %.20q...: a place's name has at most 60 characters", flag, name)
	case strings.ContainsFunc(name, unicode.IsControl):
		return "", Usage("%s %q: a place's name has no control characters", flag, name)
	}
	return name, nil
}

// longestText is how many characters a free text of an entry may have. A list of
// the log has to stay readable; what is longer is a paper.
const longestText = 1000

// fits refuses a body with a text that is longer.
func fits(body []byte) error {
	var v any
	if err := json.Unmarshal(body, &v); err != nil {
		return err
	}
	return fitsValue(v)
}

func fitsValue(v any) error {
	switch v := v.(type) {
	case string:
		if utf8.RuneCountInString(v) > longestText {
			return Usage("%.20q... is longer than %d characters: attach the paper (pouchward attach) and say it in short", v, longestText)
		}
	case []any:
		for _, x := range v {
			if err := fitsValue(x); err != nil {
				return err
			}
		}
	case map[string]any:
		for _, x := range v {
			if err := fitsValue(x); err != nil {
				return err
			}
		}
	}
	return nil
}

// notAhead refuses a day that is still to come: a clock that began tomorrow
// would ask for nothing for a year and a day.
func notAhead(flag string, day, today triage.Date) error {
	if day > today {
		return Usage("%s %s is still to come (today is %s)", flag, day, today)
	}
	return nil
}
