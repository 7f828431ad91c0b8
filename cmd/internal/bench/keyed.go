package bench

import "sync"

// A keyed is a lock for each name: what waits on one form does not wait on another.
type keyed struct {
	mu   sync.Mutex
	held map[string]*waiting
}

type waiting struct {
	sync.Mutex
	count int // that hold it or wait for it
}

// lock waits until nobody else holds the name, and returns what lets it go.
func (k *keyed) lock(name string) (unlock func()) {
	k.mu.Lock()
	if k.held == nil {
		k.held = map[string]*waiting{}
	}
	w := k.held[name]
	if w == nil {
		w = &waiting{}
		k.held[name] = w
	}
	w.count++
	k.mu.Unlock()
	w.Lock()
	return func() {
		w.Unlock()
		k.mu.Lock()
		defer k.mu.Unlock()
		if w.count--; w.count == 0 {
			delete(k.held, name)
		}
	}
}
