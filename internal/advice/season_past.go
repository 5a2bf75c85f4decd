package advice

import (
	"hash/fnv"
	"sync"

	"broodlight/internal/aviary"
	"broodlight/internal/nest"
)

// Past keeps what clutches came to by a day, so that a season of many of them is drawn quickly. The zero Past is ready
// to use; it may be used from several goroutines. A clutch is worked out afresh when anything was written about it, and one
// that is open on each day.
type Past struct {
	mu   sync.Mutex
	kept map[pastKey]*SeasonClutch
}

// pastKept is how many clutches a Past keeps: ten seasons of a hundred pairs, twice over.
const pastKept = 10000

type pastKey struct {
	clutch  aviary.ID
	looks   uint64 // of its entries
	day     aviary.Date
	profile nest.Profile
}

func (p *Past) get(k pastKey) *SeasonClutch {
	if p == nil {
		return nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.kept[k]
}

func (p *Past) keep(k pastKey, c *SeasonClutch) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.kept == nil || len(p.kept) >= pastKept {
		p.kept = map[pastKey]*SeasonClutch{}
	}
	p.kept[k] = c
}

// looksHash tells apart any two sets of entries and circumstances that a clutch's outcome follows from.
func looksHash(c *aviary.Clutch, own seed, pair *aviary.Pair) uint64 {
	h := fnv.New64a()
	if e := c.Before(); e != nil {
		_, _ = h.Write(e.ID[:])
	}
	for _, e := range c.Entries() {
		_, _ = h.Write(e.ID[:])
	}
	_, _ = h.Write([]byte(own.slug))
	_, _ = h.Write(pair.ID[:])
	if c.No != nil {
		_, _ = h.Write([]byte{byte(*c.No)})
	}
	_, _ = h.Write(c.EndedBy[:])
	return h.Sum64()
}
