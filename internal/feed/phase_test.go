package feed

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const start Day = 1000 // first day of sprouted seed in these tests

// TestPairPhase_Ladder holds the trade's calendar (common practice, no source): sprouted seed for
// about three weeks, egg food from the third, nest material once signs show, from about the fourth.
func TestPairPhase_Ladder(t *testing.T) {
	signs := []Sign{{start + 20, Singing}, {start + 20, BeakDarkening}}
	early := []Sign{{start + 9, Building}}
	tests := []struct {
		name  string
		p     Pair
		day   Day
		want  Phase
		week  int
		due   bool
		notes string
	}{
		{"first morning", Pair{Conditioning: start}, start, Conditioning, 1, false, ""},
		{"second week", Pair{Conditioning: start}, start + 13, Conditioning, 2, false, ""},
		{"third week", Pair{Conditioning: start}, start + 14, EggFood, 3, false, ""},
		{"fourth week, no signs", Pair{Conditioning: start}, start + 22, EggFood, 4, false, "patience"},
		{"fourth week, signs", Pair{Conditioning: start, Signs: signs}, start + 22, EggFood, 4, true, "Give nest material"},
		{"ahead", Pair{Conditioning: start, Signs: early}, start + 10, EggFood, 2, true, "is ahead"},
		{"one weak sign is not enough", Pair{Conditioning: start, Signs: signs[:1]}, start + 22, EggFood, 4, false, "patience"},
		{"signs gone stale", Pair{Conditioning: start, Signs: signs}, start + 40, EggFood, 6, false, "patience"},
		{"seven weeks", Pair{Conditioning: start}, start + 45, EggFood, 7, false, "Look for a cause"},
		{"material given", Pair{Conditioning: start, Material: start + 23, Signs: signs}, start + 24, Material, 4, false, ""},
		{"material and silence", Pair{Conditioning: start, Material: start + 23}, start + 40, Material, 6, false, "give it time"},
		{"a sign of tomorrow says nothing", Pair{Conditioning: start, Signs: []Sign{{start + 23, Building}}}, start + 22, EggFood, 4, false, "patience"},
	}
	for _, tt := range tests {
		got := tt.p.Phase(tt.day, Season{})
		if got.Phase != tt.want || got.Week != tt.week || got.MaterialDue != tt.due {
			t.Errorf("%s: %v, week %d, material due %v; want %v, %d, %v", tt.name, got.Phase, got.Week, got.MaterialDue, tt.want, tt.week, tt.due)
		}
		var all string
		for _, n := range got.Notes {
			all += n.Text
		}
		if !strings.Contains(all, tt.notes) || (tt.notes == "" && all != "") {
			t.Errorf("%s: says %q, want %q in it", tt.name, all, tt.notes)
		}
	}
}

func TestPairPhase_Nests(t *testing.T) {
	egg, sit, hatch, fledge := start+30, start+33, start+47, start+68
	n := Nest{FirstEgg: egg, Sitting: sit, Hatched: hatch, Fledged: fledge, Eggs: 5, Chicks: 4}
	pair := Pair{Conditioning: start, Material: start + 25, Nests: []Nest{n}}
	for day, want := range map[Day]Phase{egg - 1: Material, egg: Laying, sit: Sitting, hatch: Rearing, fledge - 1: Rearing, fledge: Weaning} {
		if got := pair.Phase(day, Season{}); got.Phase != want {
			t.Errorf("day %d: %v, want %v", day, got.Phase, want)
		}
	}
	pair.Nests[0].Ended = fledge + 14
	if got := pair.Phase(fledge+20, Season{}); got.Phase != EggFood || got.Since != fledge+14 || len(got.Notes) != 0 {
		t.Errorf("between clutches: %+v", got)
	}
	pair.Nests[0].Ended = 0
	pair.Nests = append(pair.Nests, Nest{FirstEgg: fledge + 3})
	if got := pair.Phase(fledge+4, Season{}); got.Phase != Laying {
		t.Errorf("eggs again beside fledged young: %v, want laying", got.Phase)
	}
	// Moult never hides a live nest, and is warned of.
	got := pair.Phase(fledge+4, Season{Moult: fledge})
	if got.Phase != Laying || got.Notes[len(got.Notes)-1].Level != Warn {
		t.Errorf("moult in mid-breeding: %+v", got)
	}
}

func TestSeasonGroup(t *testing.T) {
	s := Season{Preparation: 100, Conditioning: 140, Moult: 300, Rest: 380}
	for day, want := range map[Day]Phase{50: Rest, 100: Preparation, 140: Conditioning, 154: EggFood, 300: Moult, 380: Rest} {
		if got := s.Group(day); got.Phase != want {
			t.Errorf("day %d: %v, want %v", day, got.Phase, want)
		}
	}
	if got := s.Group(50); got.Next != Preparation || got.NextDay != 100 {
		t.Errorf("next after rest: %+v", got)
	}
	// A pair follows the plan until it begins, and rests when the plan says so.
	if got := (Pair{}).Phase(145, s); got.Phase != Preparation || len(got.Notes) != 1 {
		t.Errorf("not begun: %+v", got)
	}
	if got := (Pair{Conditioning: 141}).Phase(305, s); got.Phase != Moult {
		t.Errorf("after the season: %+v", got)
	}
	if got := (Pair{Conditioning: 141, Rest: 200}).Phase(205, s); got.Phase != Rest {
		t.Errorf("put to rest early: %+v", got)
	}
}

func TestHenLook_UrgentInEveryPhase(t *testing.T) {
	for _, p := range Phases() {
		for _, h := range []Hen{{Fluffed: true}, {Low: true}, {Straining: true}} {
			notes := append(Intake(p, 0.9), h.Look(p)...)
			urgent := false
			for _, n := range notes {
				urgent = urgent || (n.Level == Urgent && strings.Contains(n.Text, "avian vet"))
			}
			if !urgent {
				t.Errorf("%v, %+v: not urgent", p, h)
			}
		}
		if (Hen{}).Look(p) != nil {
			t.Errorf("%v: a bright hen is urgent", p)
		}
	}
}

// TestIntake_Laying: pairs ate 8 % less (Williams and Ternan 1999), which is no cause for a warning.
func TestIntake_Laying(t *testing.T) {
	for _, n := range Intake(Laying, 0.92) {
		if n.Level != Info {
			t.Errorf("laying, 8 %% less: %+v", n)
		}
	}
	if n := Intake(Rearing, 0.9); len(n) != 1 || n[0].Level != Warn {
		t.Errorf("rearing, a tenth less: %+v", n)
	}
	if n := Intake(Rest, 0.5); len(n) != 1 || n[0].Level != Warn {
		t.Errorf("rest, half: %+v", n)
	}
}

// TestPairPhase_Laws: moving all days moves the answer, more signs never hold a pair back, and
// a pair with a live nest is in a breeding phase.
func TestPairPhase_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.Custom(func(t *rapid.T) Day { return Day(rapid.IntRange(500, 700).Draw(t, "d")) })
		opt := rapid.Custom(func(t *rapid.T) Day {
			if rapid.Bool().Draw(t, "known") {
				return day.Draw(t, "day")
			}
			return 0
		})
		p := Pair{Conditioning: opt.Draw(t, "conditioning"), Material: opt.Draw(t, "material"), Moult: opt.Draw(t, "moult"), Rest: opt.Draw(t, "rest")}
		for range rapid.IntRange(0, 3).Draw(t, "nests") {
			p.Nests = append(p.Nests, Nest{FirstEgg: opt.Draw(t, "egg"), Sitting: opt.Draw(t, "sit"), Hatched: opt.Draw(t, "hatch"), Fledged: opt.Draw(t, "fledge"), Ended: opt.Draw(t, "end")})
		}
		for range rapid.IntRange(0, 4).Draw(t, "signs") {
			p.Signs = append(p.Signs, Sign{day.Draw(t, "sign"), SignKind(rapid.IntRange(-1, int(signKinds)).Draw(t, "kind"))})
		}
		s := Season{opt.Draw(t, "prep"), opt.Draw(t, "cond"), opt.Draw(t, "moult plan"), opt.Draw(t, "rest plan")}
		today := day.Draw(t, "today")
		got := p.Phase(today, s)
		live := false
		for _, n := range p.Nests {
			live = live || n.live(today)
		}
		if live != got.Phase.breeding() {
			t.Fatalf("live nest %v, phase %v", live, got.Phase)
		}
		const by = 400
		shift := func(d Day) Day {
			if d == 0 {
				return 0
			}
			return d + by
		}
		q := Pair{Conditioning: shift(p.Conditioning), Material: shift(p.Material), Moult: shift(p.Moult), Rest: shift(p.Rest)}
		for _, n := range p.Nests {
			q.Nests = append(q.Nests, Nest{FirstEgg: shift(n.FirstEgg), Sitting: shift(n.Sitting), Hatched: shift(n.Hatched), Fledged: shift(n.Fledged), Ended: shift(n.Ended)})
		}
		for _, g := range p.Signs {
			q.Signs = append(q.Signs, Sign{shift(g.Day), g.Kind})
		}
		moved := q.Phase(today+by, Season{shift(s.Preparation), shift(s.Conditioning), shift(s.Moult), shift(s.Rest)})
		if moved.Phase != got.Phase || moved.Since != shift(got.Since) || moved.NextDay != shift(got.NextDay) || moved.Week != got.Week {
			t.Fatalf("moved by %d days: %+v, was %+v", by, moved, got)
		}
		p.Signs = append(p.Signs, Sign{today, Building})
		if more := p.Phase(today, s); more.Phase < got.Phase && !got.Phase.breeding() && got.Phase != Moult {
			t.Fatalf("building puts the pair back from %v to %v", got.Phase, more.Phase)
		}
	})
}
