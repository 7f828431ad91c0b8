package exports

import (
	"strings"
	"testing"
	"time"

	"pouchward/logbook"
)

func lookEntry(t *testing.T, number int64, kind, readings string) *logbook.Entry {
	t.Helper()
	body, err := logbook.ParseBody([]byte(`{"readings":{` + readings + `}}`))
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 24, 16, 10, 0, 0, time.UTC)
	return &logbook.Entry{Number: number, Zone: "+00:00", Draft: logbook.Draft{Kind: kind, Happened: at, Body: body}}
}

func TestSeen(t *testing.T) {
	for _, c := range []struct{ readings, want string }{
		{`"signs":"none"`, "no sign"},
		{`"signs":"swollen;terminals_damaged","ocv_v":{"typed":"3,81 V","value":"3.81"}`, "swollen, terminals damaged; 3.81\u00a0V"},
		{`"dented":"yes","leaking":"no","cell_c":"20.4","ambient_c":"20"`, "dented; 20.4\u00a0°C; room 20\u00a0°C"},
		{`"cell_c":{"typed":"hot","refused":true}`, ""},
		{`"part":"PX-1","mass_g":"70"`, ""},
	} {
		if got := seen(lookEntry(t, 1, "assessment", c.readings)); got != c.want {
			t.Errorf("%s: got %q, want %q", c.readings, got, c.want)
		}
	}
}

func TestLastSeen(t *testing.T) {
	h := &History{Void: map[int64]int64{5: 6}, Entries: []*logbook.Entry{
		lookEntry(t, 1, "assessment", `"signs":"dented"`),
		lookEntry(t, 2, "recheck", `"cell_c":"19"`),
		lookEntry(t, 3, "assessment", `"signs":"swollen"`),
		lookEntry(t, 4, "recheck", `"ocv_v":"?"`),
		lookEntry(t, 5, "recheck", `"cell_c":"99"`), // retracted
	}}
	var b strings.Builder
	if err := lastSeen(&b, h); err != nil {
		t.Fatal(err)
	}
	want := "SEEN      entry 3, 2026-11-24 16:10: swollen\nSEEN      entry 4, 2026-11-24 16:10: no reading\n"
	if got := b.String(); got != want {
		t.Errorf("got:\n%swant:\n%s", got, want)
	}
}
