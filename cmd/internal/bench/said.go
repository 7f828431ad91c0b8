package bench

import (
	"strings"
	"sync"
)

// said is what the next page about an entry has to say, such as that something is
// still owed. It is not in the address of the page, where anybody could write it.
type said struct {
	mu    sync.Mutex
	about map[int64][]string
}

// mostSaid bounds what waits to be said.
const mostSaid = 100

// say keeps notes for the page of an entry.
func (s *Server) say(entry int64, notes ...string) {
	s.said.mu.Lock()
	defer s.said.mu.Unlock()
	if s.said.about == nil || len(s.said.about) > mostSaid {
		s.said.about = map[int64][]string{}
	}
	for _, text := range notes {
		if !strings.HasPrefix(text, asCommandWords) {
			text = inWords(text)
		}
		s.said.about[entry] = append(s.said.about[entry], text)
	}
}

// heard takes the notes of an entry.
func (s *Server) heard(entry int64) []string {
	s.said.mu.Lock()
	defer s.said.mu.Unlock()
	notes := s.said.about[entry]
	delete(s.said.about, entry)
	return notes
}
