package web

import (
	"fmt"
	"html/template"

	"broodlight/internal/advice"
	"broodlight/internal/aviary"
	"broodlight/internal/web/look"
)

// sheetPage is the round on paper: a line for every cage, boxes to write in where a job is due.
type sheetPage struct {
	layout
	Banks []sheetBank
	Lids  string
	Jobs  int
}

// sheetBank is one bank of cages, or the flights and what stands apart.
type sheetBank struct {
	Name  string
	Lines []sheetLine
}

// sheetLine is one cage.
type sheetLine struct {
	Plate   string
	Species string
	Pair    []template.HTML
	Holds   string // what was last seen
	Jobs    []sheetJob
}

// sheetJob is one job with what it takes down: never filled in beforehand, so that paper holds what was seen.
type sheetJob struct {
	Title, Guess string
	Flag         template.HTML
	Boxes        []string // "eggs, was 5"
	Rings        []string
	Eggs         int
}

// roundSheetShow shows the sheet. The browser prints it.
func (s *server) roundSheetShow(v *visit) error {
	p := &sheetPage{}
	p.Title, p.Tab, p.Class = "Round sheet", "round", "page sheetpaper"
	v.desk(func(d *advice.Desk) {
		due := map[aviary.ID][]*advice.Job{}
		r := d.Round()
		for _, j := range r.Jobs {
			due[j.Place.ID] = append(due[j.Place.ID], j)
		}
		p.Jobs = len(r.Jobs)
		at, rings := map[string]int{}, offered{}
		for _, place := range d.Room.Places() {
			name := place.Bank
			switch {
			case place.Type == aviary.Quarantine || place.Type == aviary.Hospital:
				name = "Last: quarantine and hospital"
			case place.Type != aviary.Cage:
				name = "Flights and aviaries"
			case name == "":
				name = "Cages"
			}
			i, ok := at[name]
			if !ok {
				i = len(p.Banks)
				at[name] = i
				p.Banks = append(p.Banks, sheetBank{Name: name})
			}
			p.Banks[i].Lines = append(p.Banks[i].Lines, sheetLineOf(d, place, due[place.ID], rings))
		}
		if r.Lids.Known {
			p.Lids = "Lids " + r.Lids.String() + "."
		}
	})
	p.Headline = fmt.Sprintf("Round sheet, %s: %s", v.today.Long(), count(p.Jobs, "job", "jobs"))
	return v.render("round_sheet", p)
}

func sheetLineOf(d *advice.Desk, place *aviary.Place, jobs []*advice.Job, o offered) sheetLine {
	c := d.Cage(place)
	l := sheetLine{Plate: place.Name, Pair: coupleLine(d, c.Pair, place)}
	if c.Species != nil {
		l.Species = c.Species.English
	}
	if c.Main != nil {
		l.Holds = c.Main.Says()
	} else if n := birdsThere(d.Room, place.ID); n > 0 && c.Pair == nil {
		l.Holds = count(n, "bird", "birds") + " by the book."
	}
	for _, j := range jobs {
		job := sheetJob{Title: j.Title, Guess: j.Guess, Flag: look.Flag(markOf(j), j.Flag())}
		switch j.Kind {
		case advice.CandleJob:
			job.Eggs = j.Nest.Eggs.Total()
		case advice.RingJob:
			slug := ""
			if j.Species != nil {
				slug = j.Species.Slug
			}
			for _, n := range o.next(d, slug, max(j.Nest.Chicks-j.Nest.Ringed, 1)) {
				job.Rings = append(job.Rings, n.Ring.String())
			}
		case advice.QuestionJob, advice.OddJob, advice.QuarantineJob, advice.WeanJob, advice.MaterialJob, advice.BoxJob:
		default:
			for _, t := range d.Tallies(j.Nest) {
				box := t.Label
				if j.Nest != nil && (t.Name == advice.EggsTally || t.Name == advice.ChicksTally) {
					box += fmt.Sprintf(", was %d", t.Was)
				}
				job.Boxes = append(job.Boxes, box)
			}
		}
		l.Jobs = append(l.Jobs, job)
	}
	return l
}
