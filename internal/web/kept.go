package web

import (
	"sync"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
)

// kept holds answers that are slow to work out until anything is written or the day turns.
type kept[T any] struct {
	mu      sync.Mutex
	version uint64 // of the room
	today   aviary.Date
	answers map[string]T
}

// of returns the answer to a question, worked out now or before. It is called while the room may be read.
func (k *kept[T]) of(d *advice.Desk, question string, work func() (T, error)) (T, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.answers == nil || k.version != d.Room.Version() || k.today != d.Today {
		k.version, k.today, k.answers = d.Room.Version(), d.Today, map[string]T{}
	}
	if a, ok := k.answers[question]; ok {
		return a, nil
	}
	a, err := work()
	if err == nil {
		k.answers[question] = a
	}
	return a, err
}
