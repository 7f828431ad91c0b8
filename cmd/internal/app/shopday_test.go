package app

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// The day judged for is the shop's, wherever the machine's clock stands: a
// determination made in the evening must not count as one of tomorrow.
func TestTheDayIsTheShops(t *testing.T) {
	house := filepath.Join(t.TempDir(), "house.toml")
	for _, c := range []struct{ zone, want string }{{"Asia/Tokyo", "2026-11-27"}, {"America/Chicago", "2026-11-26"}, {"Pacific/Kiritimati", "2026-11-27"}} {
		if err := os.WriteFile(house, []byte("[shop]\ntime_zone = \""+c.zone+"\"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := OpenShop("", house, time.Date(2026, 11, 26, 20, 0, 0, 0, time.UTC))
		if err != nil || s.Rulebook.On.String() != c.want {
			t.Errorf("%s: %v, %v; want %s", c.zone, s.Rulebook.On, err, c.want)
		}
	}
}
