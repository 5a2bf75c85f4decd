package feed

import (
	"fmt"
	"math"
	"strings"
)

// Serving is an amount of a food in a ration, as bought, for one day. Free is out at all
// times and counted in nothing, as cuttlebone and grit are.
type Serving struct {
	Food  Food
	Grams float64
	Free  bool
}

// Guide is the range in which a figure should be, where somebody has published or taught
// one. Without a sound figure Known is false and Why says so. An open end is an infinity.
type Guide struct {
	Known     bool
	Low, High float64
	Basis     Basis
	Why       string // what it rests on, or why there is none
}

// Verdict says how a figure lies to its guide.
type Verdict string

// The verdicts of a line.
const (
	Low     Verdict = "low"
	Within  Verdict = "within"
	High    Verdict = "high"
	NoGuide Verdict = "no guide" // no sound figure to judge by
	Unknown Verdict = "unknown"  // the figure itself is not known
)

// Line is one figure of a ration. Value is 0 and Known false when a food that counts has
// no figure for it; Missing names those foods.
type Line struct {
	Name, Unit string
	Known      bool
	Value      float64
	Guide      Guide
	Verdict    Verdict
	Missing    []string
	Source     string
}

// Analysis is a ration held against what its birds need.
type Analysis struct {
	Phase Phase
	Need  Need
	Lines []Line
	Notes []Note
}

// dryAsLabel is the dry matter at which guides for feeds are stated: seeds, pellets and
// labels hold about a tenth of water. From memory.
const dryAsLabel = 0.9

// Analyse returns the energy that a ration offers against the need, and protein, fat,
// calcium and phosphorus of what is eaten of it, as percent of food with a tenth of water,
// so that egg and sprouts compare with seed. Hulls are left out. Food that is out freely is
// not counted. It is taken that all foods are eaten evenly, which birds do not do: weigh
// what is left.
func Analyse(p Phase, b Birds, servings []Serving) Analysis {
	out := Analysis{Phase: p, Need: b.Need(p)}
	var eaten, dry float64
	calciumOut := false
	for _, s := range servings {
		if s.Free {
			calciumOut = calciumOut || (s.Food.Calcium.Known && s.Food.Calcium.Value >= 20)
			continue
		}
		eaten += s.Food.EatenGrams(s.Grams)
	}
	water := sumOf("water", "g", servings, func(f Food) Figure { return f.Water })
	dry = eaten - water.Value
	energy := sumOf("energy offered", "kJ/day", servings, func(f Food) Figure {
		e := f.Usable()
		e.Value *= 100
		return e
	})
	energy.Source = usableSource
	energy.Guide = Guide{true, out.Need.Low, math.Inf(1), Derived, out.Need.Source()}
	energy.judge()
	out.Lines = append(out.Lines, energy)
	share := Line{Name: "energy offered of need", Unit: "%", Known: energy.Known && out.Need.KJ > 0, Missing: energy.Missing, Source: out.Need.Source()}
	if share.Known {
		share.Value = 100 * energy.Value / out.Need.KJ
	}
	share.Guide = Guide{Why: "birds eat what they need of what is offered; spilling and hulls take about a quarter (from memory)"}
	share.judge()
	out.Lines = append(out.Lines, share)
	percent := func(name string, of func(Food) Figure, g Guide) Line {
		l := sumOf(name, "%", servings, of)
		l.Known = l.Known && water.Known && dry > 0
		l.Missing = union(l.Missing, water.Missing)
		l.Value = 0
		if l.Known {
			l.Value = 100 * sumOf(name, "", servings, of).Value / (dry / dryAsLabel)
		}
		l.Source = "composition of each food, at a tenth of water"
		l.Guide = g
		l.judge()
		return l
	}
	calciumOf := func(f Food) Figure { return f.Calcium }
	protein := percent("protein", func(f Food) Figure { return f.Protein }, ProteinGuide(p))
	fat := percent("fat", func(f Food) Figure { return f.Fat }, FatGuide(p))
	calcium := percent("calcium", calciumOf, CalciumGuide(p))
	phosphorus := percent("phosphorus", func(f Food) Figure { return f.Phosphorus }, Guide{Why: "no sound figure for these species was found"})
	ratio := Line{Name: "calcium to phosphorus", Unit: "ratio", Source: "composition of each food", Missing: union(calcium.Missing, phosphorus.Missing)}
	if ratio.Known = calcium.Known && phosphorus.Known && phosphorus.Value > 0; ratio.Known {
		ratio.Value = calcium.Value / phosphorus.Value
	}
	ratio.Guide = Guide{true, 1, 2.5, CommonPractice, "2 to 1 is the usual aim, common practice, no source; seed has about 1 to 10, and the calcium that is out freely is not counted here"}
	ratio.judge()
	out.Lines = append(out.Lines, protein, fat, calcium, phosphorus, ratio)
	out.remarks(b, energy, calcium, sumOf("calcium", "", servings, calciumOf).Value*1000, calciumOut)
	return out
}

// remarks adds what the trade knows to go wrong. mg is the calcium of the ration in a day.
func (a *Analysis) remarks(b Birds, energy, calcium Line, mg float64, calciumOut bool) {
	note := func(l Level, text, source string) { a.Notes = append(a.Notes, Note{l, text, source}) }
	a.Notes = append(a.Notes, a.Need.Notes...)
	if !calciumOut {
		note(Warn, "No cuttlebone, grit or eggshell is out. Calcium belongs in the cage at all times.", practice)
	}
	if a.Need.ShellCalcium > 0 && calcium.Known {
		note(Info, fmt.Sprintf("The shells take about %.0f mg of calcium a day; this ration without the free calcium holds %.0f mg for the whole cage. Seed alone cannot shell a clutch.", a.Need.ShellCalcium, mg), eggSource)
	}
	if energy.Known && energy.Value < a.Need.Low {
		switch a.Phase {
		case Rearing, Weaning:
			note(Warn, "This is less than the nest needs. The need peaks from about day 12 until a week after fledging.", chickSource)
		default:
			note(Warn, "This is less energy than the birds need.", cageSource)
		}
	}
	if energy.Known && a.Need.KJ > 0 && energy.Value > 2*a.Need.KJ {
		note(Info, "Twice the need is offered. The birds will pick out what they like best; give less and let them finish it.", practice)
	}
	if b.Chicks > 0 && a.Phase != Rearing && a.Phase != Weaning {
		note(Info, "Chicks are counted although the phase is "+a.Phase.String()+".", "")
	}
}

// sumOf adds up a figure, g per 100 g of the eaten part, over all servings that count.
func sumOf(name, unit string, servings []Serving, of func(Food) Figure) Line {
	l := Line{Name: name, Unit: unit, Known: true}
	for _, s := range servings {
		if s.Free || s.Grams == 0 {
			continue
		}
		f := of(s.Food)
		if !f.Known {
			l.Known = false
			l.Missing = union(l.Missing, []string{s.Food.Name})
			continue
		}
		l.Value += s.Food.EatenGrams(s.Grams) * f.Value / 100
	}
	return l
}

func union(a, b []string) []string {
	out := append([]string(nil), a...)
next:
	for _, s := range b {
		for _, have := range out {
			if have == s {
				continue next
			}
		}
		out = append(out, s)
	}
	return out
}

func (l *Line) judge() {
	switch {
	case !l.Known:
		l.Verdict, l.Value = Unknown, 0
	case !l.Guide.Known:
		l.Verdict = NoGuide
	case l.Value < l.Guide.Low:
		l.Verdict = Low
	case l.Value > l.Guide.High:
		l.Verdict = High
	default:
		l.Verdict = Within
	}
}

// rich says whether a phase is one for which feeds for breeding are made.
func (p Phase) rich() bool { return p >= EggFood && p <= Weaning }

// ProteinGuide returns the protein that a phase's food should hold, in percent of food with a tenth of water.
func ProteinGuide(p Phase) Guide {
	if p.rich() {
		return Guide{true, 18, 25, Published, "Merck Veterinary Manual, Nutrition in passerines: pellets for breeding 18 to 22 %; an avian vet's page: growth 18 to 25 %. Needs of these species are not known"}
	}
	if p == Moult {
		return Guide{Why: "no sound figure for moult in these species was found; good protein is common practice"}
	}
	return Guide{true, 8.7, 14, Published, "white-crowned sparrows kept their nitrogen at 8.7 % (Murphy 1993, Canadian Journal of Zoology); an avian vet's page: 8 to 10 %; the upper end is from memory. Needs of these species are not known"}
}

// FatGuide returns the fat that a phase's food should hold, in percent of food with a tenth of water.
func FatGuide(p Phase) Guide {
	if p.rich() {
		return Guide{true, 5, 15, Published, "Merck Veterinary Manual, Nutrition in passerines: pellets for breeding 5 to 8 %; an avian vet's page: 8 to 15 %; the two together"}
	}
	return Guide{true, 2, 8, FromMemory, "plain seed holds 3 to 6 %; no sound figure for these species was found"}
}

// CalciumGuide returns the calcium that a phase's food should hold, in percent of food with a tenth of water.
func CalciumGuide(p Phase) Guide {
	if p == Material || p == Laying {
		return Guide{true, 0.3, 1, FromMemory, "diets for laying cage birds are often quoted at 0.3 to 1 %; cuttlebone, grit or eggshell always out makes up for seed and is not counted here"}
	}
	return Guide{Why: "no sound figure outside laying was found; free calcium is out at all times"}
}

// RationHeader names the cells of [Analysis.Rows].
func RationHeader() []string {
	return []string{"ration", "phase", "figure", "value", "unit", "low", "high", "verdict", "basis", "rests_on"}
}

// Rows writes the analysis for a CSV file, the need first. A figure that is not known and
// an end of a guide that is open are empty.
func (a Analysis) Rows(name string) [][]string {
	n := a.Need
	row := func(figure, value, unit, low, high string, v Verdict, basis Basis, rests string) []string {
		return []string{name, a.Phase.String(), figure, value, unit, low, high, string(v), string(basis), rests}
	}
	eaten := n.Source()
	if n.Eaten != n.KJ {
		eaten = layingSource
	}
	out := [][]string{
		row("energy needed", number(n.KJ), "kJ/day", number(n.Low), number(n.High), "", Derived, n.Source()),
		row("energy likely eaten", number(n.Eaten), "kJ/day", "", "", "", Derived, eaten),
	}
	for _, l := range a.Lines {
		value, low, high, rests := "", "", "", l.Guide.Why
		if l.Known {
			value = number(l.Value)
		}
		if l.Guide.Known {
			low, high = number(l.Guide.Low), number(l.Guide.High)
		}
		if !l.Known {
			rests = "no figure for " + strings.Join(l.Missing, ", ")
			if len(l.Missing) == 0 {
				rests = "nothing in the ration to work it out from"
			}
		}
		out = append(out, row(l.Name, value, l.Unit, low, high, l.Verdict, l.Guide.Basis, rests))
	}
	return out
}
