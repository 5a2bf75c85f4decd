package nest

// block is the list of what a nest may hold at one moment. Three lists stand one after the
// other: the brood alive with none out, alive with some out, and the nest failed.
//
// An entry of the first is v eggs that will hatch, d that will die or are dead, c clear ones
// and ch live chicks; of the second d, c and ch; of the third d and c. Where no egg was ever
// candled, nothing tells a dead egg from a clear one, and c stays 0: the block is plain.
type block struct {
	eLo, eHi int  // eggs in the nest
	cLo, cHi int  // live chicks, none out; no entries when cHi < cLo
	oLo, oHi int  // live young, some out; no entries when oHi < oLo
	lives    bool // the nest has not failed: live young were seen
	plain    bool

	perA, perO   int // entries for one number of chicks
	nA, nO, nF   int
	baseA, baseO int // entries for fewer eggs than eLo

	who []state // by entry
}

// state is what an entry of a block stands for.
type state struct {
	v, d, c, ch int8
	kind        stateKind
}

type stateKind int8

const (
	brooding stateKind = iota // alive, none out
	leaving                   // alive, some out
	gone                      // failed
)

// ways to hold fewer than e eggs, of the kinds of the first list and of the others.
func (b *block) three(e int) int {
	if b.plain {
		return e * (e + 1) / 2
	}
	return e * (e + 1) * (e + 2) / 6
}

func (b *block) two(e int) int {
	if b.plain {
		return e
	}
	return e * (e + 1) / 2
}

func (b *block) size() int { return len(b.who) }

// lay numbers the entries.
func (b *block) lay() {
	b.baseA, b.baseO = b.three(b.eLo), b.two(b.eLo)
	b.perA, b.perO = b.three(b.eHi+1)-b.baseA, b.two(b.eHi+1)-b.baseO
	if b.eHi < b.eLo {
		b.perA, b.perO = 0, 0
	}
	b.nA = max(0, b.cHi-b.cLo+1) * b.perA
	b.nO = max(0, b.oHi-b.oLo+1) * b.perO
	b.nF = b.perO
	b.who = make([]state, b.nA+b.nO+b.nF)
	for e := b.eLo; e <= b.eHi; e++ {
		for v := 0; v <= e; v++ {
			for d := b.least(v, e); d <= e-v; d++ {
				s := state{int8(v), int8(d), int8(e - v - d), 0, brooding}
				for ch := b.cLo; ch <= b.cHi; ch++ {
					s.ch = int8(ch)
					b.who[b.alive(v, d, e, ch)] = s
				}
				if v > 0 {
					continue
				}
				s.kind = leaving
				for ch := b.oLo; ch <= b.oHi; ch++ {
					s.ch = int8(ch)
					b.who[b.out(d, e, ch)] = s
				}
				b.who[b.failed(d, e)] = state{0, s.d, s.c, 0, gone}
			}
		}
	}
}

// least is the fewest eggs that die of e when v will hatch.
func (b *block) least(v, e int) int {
	if b.plain {
		return e - v
	}
	return 0
}

func (b *block) alive(v, d, e, ch int) int {
	at := (ch-b.cLo)*b.perA + b.three(e) - b.baseA
	if b.plain {
		return at + v
	}
	return at + tri(v, d, e)
}

func (b *block) out(d, e, ch int) int {
	at := b.nA + (ch-b.oLo)*b.perO + b.two(e) - b.baseO
	if b.plain {
		return at
	}
	return at + d
}

func (b *block) failed(d, e int) int {
	at := b.nA + b.nO + b.two(e) - b.baseO
	if b.plain {
		return at
	}
	return at + d
}
