package web

import (
	"html/template"
	"slices"
	"strings"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// lookView is the form that takes a look into a nest. A card and a cage's page show the same.
type lookView struct {
	Prefix string // of the ids of its fields
	Cells  []template.HTML
	Eggs   []template.HTML // the candling row; nil without eggs
	Candle bool            // candling is what is due, so the row stands on top
	Hidden []pairOf        // what the form showed at first
	Empty  bool            // nothing was in the nest at the last look
	Boxes  *field          // to choose from, where there are several
	Box    string          // id of the box, "" when none is named
	More   lookMore
	Opened bool // the rest of the form is unfolded: something in it is filled in or wrong
	Same   string
	Left   string
	Save   string
}

// pairOf is a hidden field.
type pairOf struct{ Name, Value string }

// lookMore is what a look may say beside the counts.
type lookMore struct {
	Counts                    []field // those that have no cell
	AtLeast, ChicksAtLeast    field
	Age, About                field
	Removed, RemovedWhy       field
	Dummies, Floor, Buried    field
	Marks                     field
	Signs                     field
	Feeding, NewClutch        field
	ClutchNo                  field
	Text                      field
	Day, Time                 field
	HasEggs, HasYoung, Marked bool
}

// removedWhys are the usual reasons for taking eggs out.
var removedWhys = []string{"clear", "dead", "cracked", "left cold", "hen to rest", "other"}

var tallyWords = map[string][2]string{
	advice.EggsTally: {"egg", "eggs"}, advice.ChicksTally: {"chick", "chicks"}, advice.DeadTally: {"dead", "dead"}, advice.OutTally: {"out", "out"}, advice.ClearTally: {"clear", "clear"},
}

// newLookView builds the form for a look at a clutch, or at a box without one when n is nil.
func newLookView(d *advice.Desk, p *aviary.Place, n *advice.Nest, f *form, prefix string, candle bool) *lookView {
	l := &lookView{Prefix: prefix, Candle: candle, Empty: n == nil, Same: "Looked, same", Left: "Sitting, left alone", Save: "Save changes"}
	switch {
	case n == nil:
		l.Same, l.Left = "Looked, still empty", "Hen inside, left alone"
	case candle:
		l.Save = "Save candling"
	case n.Clutch.Emptied || (n.Out > 0 && n.Chicks == 0):
		l.Same, l.Left = "Looked, same", "Seen from afar, left alone"
	case n.Chicks > 0:
		l.Left = "Brooding, left alone"
	}
	_, back := f.Values["answer"]
	shown := map[string]bool{}
	for _, t := range d.Tallies(n) {
		if candle && (t.Name == advice.ClearTally || t.Name == advice.EggsTally) {
			continue // the row says both
		}
		words := tallyWords[t.Name]
		_, sent := f.Values[t.Name]
		l.Cells = append(l.Cells, look.Count(look.CountView{Name: t.Name, ID: prefix + "-" + t.Name, One: words[0], Many: words[1], Was: t.Was, Value: f.Value(t.Name), Back: back && sent, Max: 60}))
		l.Hidden = append(l.Hidden, pairOf{"was_" + t.Name, itoa(t.Was)})
		shown[t.Name] = true
	}
	if n != nil {
		l.Hidden = append(l.Hidden, pairOf{"clutch", n.Clutch.Key.String()}, pairOf{"was_full", itoa(n.Eggs.Full)})
		_, eggsOK, _, chicksOK := n.Clutch.Known()
		if eggsOK && chicksOK {
			l.Hidden = append(l.Hidden, pairOf{"counted", "yes"})
		}
		l.eggRow(n, f, back)
	}
	l.boxes(p, n, f)
	l.more(f, shown, n)
	return l
}

// eggRow builds the candling row.
func (l *lookView) eggRow(n *advice.Nest, f *form, back bool) {
	row := n.EggRow()
	var marks, was []string
	for i, slot := range row {
		state := slot.State
		if sent := f.Values["egg"]; back && i < len(sent) {
			state = sent[i]
		}
		number := itoa(i + 1)
		if slot.Mark != "" {
			number = slot.Mark
		}
		l.Eggs = append(l.Eggs, look.EggCell(look.EggCellView{Name: "egg", ID: l.Prefix + "-egg" + itoa(i), Number: number, State: look.EggState(state)}))
		was = append(was, slot.State)
		if slot.Mark != "" {
			marks = append(marks, slot.Mark)
		}
	}
	l.Hidden = append(l.Hidden, pairOf{"was_egg", strings.Join(was, ",")})
	if l.Candle {
		l.Hidden = append(l.Hidden, pairOf{"candle", "yes"})
	}
	if !back {
		f.Values.Set("marks", strings.Join(marks, " "))
	}
}

// boxes lets the box be chosen where several hang and no clutch names one.
func (l *lookView) boxes(p *aviary.Place, n *advice.Nest, f *form) {
	if n != nil && n.Clutch.Box != (aviary.ID{}) {
		l.Box = n.Clutch.Box.String()
		return
	}
	hung := p.BoxesHung()
	if len(hung) < 2 {
		return
	}
	x := prefixed(l.Prefix, f.Select("box", "Which box", boxOptions(hung)))
	l.Boxes = &x
}

func boxOptions(hung []aviary.Box) []option {
	var out []option
	for i, b := range hung {
		out = append(out, option{Value: b.ID.String(), Label: boxName(b, i)})
	}
	return out
}

func boxName(b aviary.Box, i int) string {
	if b.Name != "" {
		return b.Name
	}
	return "Box " + itoa(i+1)
}

// more builds the controls that stand folded under the counts.
func (l *lookView) more(f *form, shown map[string]bool, n *advice.Nest) {
	in := func(x field) field { return prefixed(l.Prefix, x) }
	m := &l.More
	m.HasEggs, m.HasYoung = n == nil || n.Eggs.Total() > 0, n != nil && (n.Chicks > 0 || n.Out > 0)
	for _, c := range []struct{ name, label string }{{advice.EggsTally, "Eggs"}, {advice.ChicksTally, "Live chicks in the box"}, {advice.DeadTally, "Chicks found dead"}, {advice.OutTally, "Young out of the box"}} {
		if !shown[c.name] {
			m.Counts = append(m.Counts, in(f.Number(c.name, c.label)))
		}
	}
	m.AtLeast = in(f.Tick("eggs_at_least", "There may be more eggs than I saw"))
	m.ChicksAtLeast = in(f.Tick("chicks_at_least", "There may be more chicks than I saw"))
	m.Age, m.About = in(f.Number("chick_age_days", "Age of the eldest chick").Per("days")), in(f.Number("chick_age_about", "Age, give or take").Per("days"))
	m.Removed = in(f.Number("eggs_removed", "Eggs taken out").Hint("Of those counted above."))
	m.RemovedWhy = in(f.Select("removed_why", "Why taken out", append([]option{{Label: "not said"}}, options(removedWhys...)...)))
	m.Dummies, m.Floor, m.Buried = in(f.Number("dummy_eggs", "Dummy eggs in the nest")), in(f.Number("floor_eggs", "Eggs on the floor")), in(f.Number("buried", "Eggs found buried"))
	m.Marks = in(f.Text("marks", "Marks on the eggs").If("in the order of the row, parted by spaces"))
	m.Marked = len(l.Eggs) > 0
	m.Signs = in(f.Ticks("signs", "Signs", options(aviary.Signs...)))
	m.Feeding = in(f.Tick("self_feeding", "Young seen feeding themselves"))
	m.NewClutch = in(f.Tick("new_clutch", "A new clutch begins with this look"))
	m.ClutchNo = in(f.Number("clutch_no", "Clutch number this season").If("if you know it"))
	m.Text = in(f.Area("text", "Note"))
	m.Text.Rows = 2
	m.Day, m.Time = in(f.Date("day", "Day").If("today when empty")), in(f.Time("time", "Time"))
	l.Opened = len(f.Errors) > 0 || slices.ContainsFunc([]string{"chick_age_days", "eggs_removed", "dummy_eggs", "floor_eggs", "buried", "signs", "self_feeding", "new_clutch", "text", "day"}, func(name string) bool { return f.Value(name) != "" })
}
