package logbook

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
)

type decodedPart struct {
	Handling string `json:"handling"`
	Count    int64  `json:"count"`
}

// decodedBody has a field of every kind that bodies have.
type decodedBody struct {
	decodedPart
	Found    bool                `json:"found"`
	Wh       json.Number         `json:"energy_wh"`
	Readings map[string]any      `json:"readings"`
	Said     map[string]string   `json:"said"`
	Routes   map[string][]string `json:"routes"`
	Findings []string            `json:"findings"`
	Numbers  []int64             `json:"numbers"`
	Part     *decodedPart        `json:"part"`
	Parts    []decodedPart       `json:"parts"`
	Open     *bool               `json:"open"`
	Raw      json.RawMessage     `json:"raw"`
	Small    uint8               `json:"small"`
	None     string              `json:"-"`
	own      int64
}

// Structs that only encoding/json reads: a name of capitals, a field said twice.
type (
	decodedCapital struct{ Handling string }
	decodedTwice   struct {
		decodedPart
		Handling bool `json:"handling"`
	}
)

var decodeSeeds = []string{
	`{}`, `{"handling":"hold","count":-7,"found":true,"energy_wh":11.550,"findings":["a","b\n"],"numbers":[1,2]}`,
	`{"readings":{"ocv_v":"3.8","mass_g":{"typed":"7 g","value":"7"},"odd":{"a":{"b":"c"}}},"said":{"there":"MK"},"routes":{"sea":["small","sea-967-ii"],"adr":[]}}`,
	`{"readings":{"n":1.5,"l":[1,"x",null,true]},"part":{"handling":"x","count":3},"parts":[{"count":1},{"handling":"y"}],"open":false,"raw":{"a":1},"small":200}`,
	`{"handling":null,"count":null,"found":null,"energy_wh":null,"readings":null,"said":null,"routes":null,"findings":null,"part":null,"open":null}`,
	`{"handling":1}`, `{"count":"1"}`, `{"count":1.5}`, `{"count":1e3}`, `{"count":99999999999999999999}`, `{"small":300}`, `{"found":"yes","handling":"after"}`,
	`{"energy_wh":"1.5"}`, `{"energy_wh":"x"}`, `{"energy_wh":true}`, `{"findings":["a",null,3]}`, `{"findings":"a"}`, `{"said":{"a":1}}`, `{"said":{"a":null}}`, `{"routes":{"sea":null}}`,
	`{"Handling":"capital","HANDLING":"all","unknown":[{"x":{}}],"ſmall":3,"other-name":1}`, `{"handling":"say \"x\"\\ \u0001 ü"}`, `{"now":{"XNTF":{"is":"here"}},"handling":"last"}`,
}

// A body is read as encoding/json reads it, into whatever stands there already, and
// fails with the same words.
func checkDecode(t *testing.T, raw []byte) {
	t.Helper()
	b, err := ParseBody(raw)
	if err != nil {
		return
	}
	filled := func() *decodedBody {
		open := true
		return &decodedBody{decodedPart: decodedPart{"was", 4}, Found: true, Wh: "2", Readings: map[string]any{"kept": "x", "ocv_v": "old"}, Said: map[string]string{"kept": "y"},
			Findings: []string{"old", "older"}, Numbers: []int64{9}, Part: &decodedPart{Handling: "old"}, Open: &open, None: "none", own: 5}
	}
	for _, into := range [][2]any{{new(decodedBody), new(decodedBody)}, {filled(), filled()}, {new(decodedCapital), new(decodedCapital)}, {new(decodedTwice), new(decodedTwice)},
		{new(State), new(State)}, {&map[string]any{}, &map[string]any{}}} {
		got, want := b.Decode(into[0]), json.Unmarshal(b.Raw(), into[1])
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: error %v, encoding/json says %v", raw, got, want)
		}
		if !reflect.DeepEqual(into[0], into[1]) {
			t.Errorf("%s: read as %+v, encoding/json reads %+v", raw, into[0], into[1])
		}
	}
}

func TestDecode(t *testing.T) {
	for _, seed := range decodeSeeds {
		checkDecode(t, []byte(seed))
	}
	for _, x := range []struct {
		v    any
		want bool
	}{{decodedBody{}, true}, {Attachment{}, true}, {KeyBody{}, true}, {decodedCapital{}, false}, {decodedTwice{}, false}} {
		if got := planOf(reflect.TypeOf(x.v)) != nil; got != x.want {
			t.Errorf("%T is read here: %v, want %v", x.v, got, x.want)
		}
	}
	// What is read here must be worth it: nothing of a plain body is left to encoding/json.
	if !planOf(reflect.TypeFor[decodedBody]()).read(&scanner{data: []byte(decodeSeeds[1]), trusted: true}, reflect.ValueOf(new(decodedBody)).Elem()) {
		t.Error("a plain body is left to encoding/json")
	}
}

func FuzzDecode(f *testing.F) {
	for _, seed := range decodeSeeds {
		f.Add([]byte(seed))
		f.Add([]byte(strings.ReplaceAll(seed, "null", "[]")))
	}
	f.Fuzz(checkDecode)
}
