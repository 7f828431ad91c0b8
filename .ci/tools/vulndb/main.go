// Command vulndb makes the database that govulncheck reads (golang.org/x/vuln,
// internal/client: index/db.json, index/modules.json, ID/*.json) out of the reports of
// the module golang.org/x/vulndb, so that it needs no other service than a module proxy.
//
//	vulndb FOLDER-OF-THE-MODULE OUT
package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// A report is what of an OSV file the index needs.
type report struct {
	ID        string    `json:"id"`
	Modified  time.Time `json:"modified"` // the module leaves it blank
	Published time.Time `json:"published"`
	Affected  []struct {
		Package struct {
			Name string `json:"name"`
		} `json:"package"`
	} `json:"affected"`
}

// A vuln is a line of the index. Without the version that mended it every version is
// looked at, which costs time and misses nothing.
type vuln struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
}

// A module is one with reports.
type module struct {
	Path  string `json:"path"`
	Vulns []vuln `json:"vulns"`
}

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "vulndb FOLDER-OF-THE-MODULE OUT")
		os.Exit(2)
	}
	n, err := build(os.Args[1], os.Args[2])
	if err != nil {
		fmt.Fprintln(os.Stderr, "vulndb:", err)
		os.Exit(1)
	}
	fmt.Println(n, "reports")
}

func build(from, to string) (n int, err error) {
	names, err := filepath.Glob(filepath.Join(from, "data", "osv", "GO-*.json"))
	if err != nil || len(names) == 0 {
		return 0, errors.Join(err, fmt.Errorf("%s holds no reports in data/osv", from))
	}
	for _, dir := range []string{"index", "ID"} {
		if err := os.MkdirAll(filepath.Join(to, dir), 0o755); err != nil {
			return 0, err
		}
	}
	modules, newest := map[string]*module{}, time.Time{}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			return 0, err
		}
		var r report
		if err := json.Unmarshal(data, &r); err != nil || r.ID+".json" != filepath.Base(name) {
			return 0, errors.Join(err, fmt.Errorf("%s is not a report", name))
		}
		if r.Modified.IsZero() {
			r.Modified = r.Published
		}
		if err := os.WriteFile(filepath.Join(to, "ID", r.ID+".json"), data, 0o644); err != nil {
			return 0, err
		}
		for _, a := range r.Affected {
			m := modules[a.Package.Name]
			if m == nil {
				m = &module{Path: a.Package.Name}
				modules[m.Path] = m
			}
			if v := (vuln{r.ID, r.Modified}); !slices.Contains(m.Vulns, v) {
				m.Vulns = append(m.Vulns, v)
			}
		}
		if r.Modified.After(newest) {
			newest = r.Modified
		}
	}
	var list []*module
	for _, m := range modules {
		list = append(list, m)
	}
	slices.SortFunc(list, func(a, b *module) int { return cmp.Compare(a.Path, b.Path) })
	return len(names), errors.Join(put(filepath.Join(to, "index", "modules.json"), list),
		put(filepath.Join(to, "index", "db.json"), map[string]time.Time{"modified": newest}))
}

func put(name string, what any) error {
	data, err := json.Marshal(what)
	if err != nil {
		return err
	}
	return os.WriteFile(name, data, 0o644)
}
