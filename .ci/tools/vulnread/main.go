// Command vulnread reads what govulncheck -format json prints. A vulnerable symbol of a
// module that is in the program is an error. One of Go's own library is told and no
// error: it is mended by building with a later Go, which is not ours to fetch here.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
)

type message struct {
	Finding *struct {
		OSV   string `json:"osv"`
		Fixed string `json:"fixed_version"`
		Trace []struct {
			Module   string `json:"module"`
			Version  string `json:"version"`
			Function string `json:"function"`
		} `json:"trace"`
	} `json:"finding"`
	Config *struct {
		DB string `json:"db"`
	} `json:"config"`
}

func main() {
	var ours, std, unused []string
	begun := false
	add := func(list *[]string, line string) {
		if !slices.Contains(*list, line) {
			*list = append(*list, line)
		}
	}
	for d := json.NewDecoder(os.Stdin); ; {
		var m message
		if err := d.Decode(&m); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			fail("what govulncheck printed cannot be read: %v", err)
		}
		begun = begun || m.Config != nil
		if m.Finding == nil || len(m.Finding.Trace) == 0 {
			continue
		}
		at := m.Finding.Trace[0]
		line := fmt.Sprintf("%s: %s %s, mended in %s", m.Finding.OSV, at.Module, at.Version, m.Finding.Fixed)
		switch {
		case at.Function == "":
			add(&unused, line)
		case at.Module == "stdlib":
			add(&std, line)
		default:
			add(&ours, line)
		}
	}
	if !begun {
		fail("govulncheck printed nothing")
	}
	for _, line := range std {
		fmt.Println("NOTICE, by a later Go:", line)
	}
	for _, line := range unused {
		if !slices.Contains(std, line) && !slices.Contains(ours, line) {
			fmt.Println("NOTICE, not used:", line)
		}
	}
	for _, line := range ours {
		fmt.Println("VULNERABLE:", line)
	}
	if len(ours) > 0 {
		fail("%d known faults of modules in the program", len(ours))
	}
	fmt.Printf("no known fault of a module is in the program; %d of Go's own library, told above\n", len(std))
}

func fail(format string, args ...any) {
	fmt.Fprintf(os.Stderr, "vulnread: "+format+"\n", args...)
	os.Exit(1)
}
