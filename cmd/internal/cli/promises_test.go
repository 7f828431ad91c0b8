package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/triage"
)

// promiseNow is the minute at which these tests run the commands.
func promiseNow() time.Time { return time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC) }

// oddWord clears a screen, rings, and turns the text after it round.
const oddWord = "x\x1b[2J\a\u202ey"

// promiseShop is the invented shop, written once, in whose log odd words stand in
// every kind of entry that takes words.
var promiseShop = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "pouchward-promises-*")
	if err != nil {
		return "", err
	}
	shop := filepath.Join(dir, "shop")
	day, err := triage.ParseDate("2026-11-25")
	if err == nil {
		_, err = app.Demo(shop, day)
	}
	return shop, err
})

func TestMain(m *testing.M) {
	code := m.Run()
	if shop, err := promiseShop(); err == nil {
		if err := os.RemoveAll(filepath.Dir(shop)); err != nil {
			panic(err)
		}
	}
	os.Exit(code)
}

type ran struct {
	code     int
	out, err string
}

func runIn(shop string, args ...string) ran {
	var out, errOut bytes.Buffer
	args = append(args, "--log", filepath.Join(shop, "pouchward.db"), "--house", filepath.Join(shop, "house.toml"))
	code := Main(args, strings.NewReader(""), &out, &errOut, promiseNow)
	return ran{code, out.String(), errOut.String()}
}

// screens are the commands that show something, as a person types them in the demo.
// care says that what they show could get someone hurt if it is taken for more than
// it is.
type screen struct {
	args string
	care bool
	code int
}

var screens = []screen{
	{args: "assess --signs swollen", care: true},
	{args: "assess --signs none --why", care: true},
	{args: "assess --signs dented --papers", care: true},
	{args: "assess --signs smoking", care: true},
	{args: "emergency", care: true},
	{args: "due", care: true},
	{args: "due --all --days 60", care: true},
	{args: "stock", care: true},
	{args: "stock --by place", care: true},
	{args: "stock --by cell", care: true},
	{args: "hazard --room-m3 40", care: true},
	{args: "log history CELL", care: true},
	{args: "ship plan --route us-highway", care: true},
	{args: "ship show SHIPMENT", care: true},
	{args: "rules explain adr-small-ion", care: true},
	{args: "rules compare --from 2025-12-31 --to 2026-01-01", care: true},
	{args: "review", care: true, code: app.ExitFindings},
	{args: "local list", care: true},
	{args: "ship list"},
	{args: "container list"},
	{args: "incident list"},
	{args: "log show"},
	{args: "log show 9"},
	{args: "log verify"},
	{args: "rules list"},
	{args: "rules sources"},
	{args: "fields"},
	{args: "licences"},
	{args: "part"},
	{args: "label --marks"},
	{args: "chart stock"},
	{args: "chart age"},
	{args: "chart cell CELL"},
}

// words splits the command line of a screen, with a cell and a shipment of the log.
func (s screen) words(t *testing.T, shop string) []string {
	words := strings.Fields(s.args)
	for i, w := range words {
		switch w {
		case "CELL":
			words[i] = tagOf(t, shop, "stock", "--by", "cell", "--json")
		case "SHIPMENT":
			words[i] = tagOf(t, shop, "ship", "list", "--json")
		}
	}
	return words
}

var aTag = regexp.MustCompile(`"[23479CDEFHJKNPRTX]{5,6}"`)

func tagOf(t *testing.T, shop string, args ...string) string {
	t.Helper()
	x := runIn(shop, args...)
	tag := aTag.FindString(x.out)
	if tag == "" {
		t.Fatalf("%v shows no tag: %s %s", args, x.err, x.out)
	}
	return strings.Trim(tag, `"`)
}

func TestScreensKeepThePromises(t *testing.T) {
	shop, err := promiseShop()
	if err != nil {
		t.Fatal(err)
	}
	writeOddWords(t, shop)
	localFirst := regexp.MustCompile(`(?i)local codes(, the carrier)? and licensed practice come first`)
	odd := 0
	for _, s := range screens {
		t.Run(s.args, func(t *testing.T) {
			words := s.words(t, shop)
			x := runIn(shop, words...)
			if x.code != s.code || x.out == "" {
				t.Fatalf("exit %d, want %d, with %d bytes on standard output; standard error: %s", x.code, s.code, len(x.out), x.err)
			}
			for line := range strings.Lines(x.err) {
				if !strings.HasPrefix(line, "NOTICE ") && !strings.HasPrefix(line, "pouchward: ") && !strings.HasPrefix(line, "       ") {
					t.Errorf("standard error holds %q, which is neither a notice nor a refusal", line)
				}
			}
			if again := runIn(shop, words...); again != x {
				t.Errorf("the same command on the same day printed something else the second time")
			}
			odd += strings.Count(x.out, "[2J")
			plainText(t, x.out)
			if s.care && !localFirst.MatchString(strings.Join(strings.Fields(x.out), " ")) {
				t.Errorf("%q does not stand on it", triage.LocalFirst)
			}
			if cmd, _, err := newRoot(&env{now: promiseNow}).Find(words); err == nil && cmd.Flags().Lookup("json") != nil {
				readAsJSON(t, s, runIn(shop, append(words, "--json")...))
			}
		})
	}
	if odd < 5 {
		t.Errorf("odd words were printed %d times: the test sees none", odd)
	}
}

// neverSaid are the words that would be an all-clear. Two rules have one in a name
// that was released, which is never changed.
var (
	neverSaid = regexp.MustCompile(`(?i)\b(safe|safely|ok|okay|dead)\b`)
	ruleNames = strings.NewReplacer("made-safe-wait", "", "review-not-made-safe", "", "not-made-safe", "")
)

// plainText holds the output of a screen to be printable, and no all-clear.
func plainText(t *testing.T, out string) {
	t.Helper()
	for line := range strings.SplitSeq(out, "\n") {
		if i := strings.IndexFunc(line, func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }); i >= 0 {
			t.Errorf("a control character reaches the terminal: %q", line)
		}
		if said := neverSaid.FindString(ruleNames.Replace(line)); said != "" {
			t.Errorf("%q is said: %s", said, line)
		}
	}
}

// readAsJSON reads what --json printed: one value, or one a line.
func readAsJSON(t *testing.T, s screen, x ran) {
	t.Helper()
	if x.code != s.code {
		t.Errorf("--json: exit %d, want %d: %s", x.code, s.code, x.err)
	}
	d := json.NewDecoder(strings.NewReader(x.out))
	values := 0
	for d.More() {
		var v any
		if err := d.Decode(&v); err != nil {
			t.Fatalf("--json: %v in %.200s", err, x.out)
		}
		values++
	}
	if values == 0 {
		t.Errorf("--json printed nothing")
	}
}

// writeOddWords records odd words wherever words are taken. What refuses them is
// as good as what prints them clean.
func writeOddWords(t *testing.T, shop string) {
	t.Helper()
	tag, taken := tagOf(t, shop, "stock", "--by", "cell", "--json"), 0
	for _, args := range [][]string{
		{"assess", "--signs", "dented", "--record", "--tag", tag, "--ticket", oddWord, "--part", oddWord, "--device", oddWord, "--note", oddWord, "--who", oddWord, "--bench", oddWord},
		{"move", tag, "--to", "Odd shelf", "--because", oddWord, "--who", "MK"},
		{"move", tag, "--to", "Odd " + oddWord, "--who", "MK"}, // refused
		{"recheck", tag, "worse", "--note", oddWord, "--who", "MK"},
		{"container", "add", "--kind", "tin", "--note", oddWord, "--place", "Odd shelf", "--who", "MK"},
		{"incident", "--tags", tag, "--reacted", "no", "--seen", oddWord, "--there", "MK", "--who", "MK"},
		{"local", "answer", "local-container-lid", "--answer", oddWord, "--authority", oddWord, "--asked", oddWord, "--source", oddWord, "--who", "MK"},
		{"retract", "3000", "--reason", "other", "--note", oddWord, "--who", "MK"},
	} {
		if x := runIn(shop, args...); x.code == app.ExitDone || x.code == app.ExitFindings {
			taken++
		} else {
			plainText(t, x.err)
		}
	}
	if taken < 6 {
		t.Fatalf("%d of the entries with odd words were taken", taken)
	}
}

// A command that is typed wrongly, or that has no log, prints no result, and says on
// standard error what was wrong and what to do next.
func TestRefusalsKeepThePromises(t *testing.T) {
	shop := t.TempDir()
	if err := os.WriteFile(filepath.Join(shop, "house.toml"), []byte("[shop]\nsite = \"Invented\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	seen := 0
	everyCommand(func(cmd *cobra.Command) {
		if cmd == cmd.Root() {
			return
		}
		seen++
		path := strings.Fields(cmd.CommandPath())[1:]
		x := runIn(shop, append(path, "--no-such-flag")...)
		if x.code != app.ExitUsage || x.out != "" || !strings.HasPrefix(x.err, "pouchward: ") || !strings.Contains(x.err, "--help") {
			t.Errorf("%v --no-such-flag: exit %d, %q, %q", path, x.code, x.out, x.err)
		}
	})
	for _, s := range screens {
		words := slices.DeleteFunc(strings.Fields(s.args), func(w string) bool { return w == "CELL" || w == "SHIPMENT" })
		if slices.Contains([]string{"stock", "due", "review", "ship", "container", "incident", "log", "chart"}, words[0]) {
			seen++
			x := runIn(shop, append(words, map[bool][]string{true: {"F2XE9R"}}[len(words) < len(strings.Fields(s.args))]...)...)
			if x.code == app.ExitDone || x.out != "" || !strings.Contains(x.err, "pouchward log init") && !strings.Contains(x.err, "pouchward setup") {
				t.Errorf("%s without a log: exit %d, %q; %q does not say how to make one", s.args, x.code, x.out, x.err)
			}
		}
	}
	if seen < 70 {
		t.Fatalf("%d commands tried", seen)
	}
}
