package exchange

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"broodlight/internal/aviary"
)

// The columns of a birds table.
const (
	colRing = iota
	colSpecies
	colSex
	colHatched
	colSire
	colDam
	colLooks
	colCage
	colName
	colCount
)

// birdColumns says what each column holds and by which header words it is found, letters and digits
// alone, in any case.
var birdColumns = [colCount]struct {
	words   []string
	name    string // as the keeper is told; one of the words when brought to their form
	meaning string
}{
	colRing:    {[]string{"ring", "ringno", "ringnumber", "ringnr", "legring", "band", "bandno", "bandnumber", "legband", "id", "birdid"}, "ring", "the bird's ring as people write it: issuer, two digits of the year, number; empty when it is not read yet"},
	colSpecies: {[]string{"species", "speciesname", "latin", "latinname", "scientificname", "englishname"}, "species", "its species, by the short name, the Latin or the English name; may be left out where one species is given for the whole table"},
	colSex:     {[]string{"sex", "gender", "cockhen", "cockorhen"}, "sex", "cock or hen; M, male, 1.0 and ♂ are read as cock, F, female, 0.1 and ♀ as hen; empty when not known"},
	colHatched: {[]string{"hatched", "hatch", "hatchdate", "hatchday", "dateofhatch", "dayofhatch", "hatchedon", "hatchingdate", "born", "birth", "birthdate", "birthday", "dateofbirth", "dob"}, "hatched", "day of hatch, best as 2025-03-02; 02.03.2025 and 02/03/2025 are read once the column shows which number is the day"},
	colSire:    {[]string{"sirering", "sire", "siresring", "sireid", "sireband", "father", "fatherring", "fathersring", "fatherid"}, "sire ring", "the father's ring"},
	colDam:     {[]string{"damring", "dam", "damsring", "damid", "damband", "mother", "motherring", "mothersring", "motherid"}, "dam ring", "the mother's ring"},
	colLooks:   {[]string{"looks", "look", "colour", "color", "colours", "colors", "mutation", "mutations", "variety", "phenotype"}, "looks", "what it shows; several are parted by semicolons or commas, each as trait=look or just the look"},
	colCage:    {[]string{"cage", "cageno", "cagenumber", "place", "location", "housedin"}, "cage", "name or number of the cage it is in; one that is not there yet is made"},
	colName:    {[]string{"name", "birdname", "nickname"}, "name", "its name, if it has one"},
}

// BirdsColumns returns the columns of a birds table and what they hold.
func BirdsColumns() []Column {
	var out []Column
	for _, c := range birdColumns {
		out = append(out, Column{c.name, c.meaning})
	}
	return out
}

// BirdsExample is a birds table as a keeper may write it, of invented birds.
const BirdsExample = `ring,species,sex,hatched,sire ring,dam ring,looks,cage,name
FC 23-001,zebra,cock,2023-03-02,,,grey,C1,Pip
FC 23-014,zebra,hen,2023-04-17,FC 21-007,,"fawn; crest",C1,
FC 25-019,zebra,,2025-02-11,FC 23-001,FC 23-014,grey,C4,
`

var columnOfWord = func() map[string]int {
	m := map[string]int{}
	for i, c := range birdColumns {
		for _, w := range c.words {
			m[w] = i
		}
	}
	return m
}()

// headerWord brings a header to the form in which header words are compared.
func headerWord(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

func countBirdColumns(cells []string) int {
	n := 0
	for _, c := range cells {
		if _, ok := columnOfWord[headerWord(c)]; ok {
			n++
		}
	}
	return n
}

// fledgling is a bird on its way into the books: a row, a parent without a row, or a bird that is in the books already.
type fledgling struct {
	known   *aviary.Bird // in the books already
	row     int          // of birdTable.rows; -1 for a parent without a row and for one found in the books by its ring
	ring    aviary.Ring
	species string
	sex     aviary.Sex
	sexed   string // how the sex came about when no column said so
	hatched aviary.Date
	sire    *fledgling
	dam     *fledgling
	looks   []string
	cage    string
	name    string

	id         aviary.ID
	generation int
	sireOf     int // 1 + a row that names it as sire; 0 when none does
	damOf      int
}

func (f *fledgling) label() string {
	switch {
	case f.known != nil:
		return f.known.Label()
	case f.ring.Read():
		return f.ring.String()
	case f.name != "":
		return f.name
	}
	return "the bird without a ring"
}

// birdRow is a row of a birds table, read but not yet linked to others.
type birdRow struct {
	bird      *fledgling
	sire, dam aviary.Ring
	report    RowReport
}

// birdTable is a birds table on its way into the books.
type birdTable struct {
	file   *table
	opt    Options
	room   *aviary.Room // as it will be when this table is brought in; grows with each table
	plan   *Plan
	head   [colCount]string // as the file writes it; "" where there is no such column
	at     [colCount]int    // index of the cell; -1 where there is no such column
	rows   []*birdRow
	byRing map[aviary.Ring]*fledgling
	extra  []*fledgling // parents without a row
	inRoom []*fledgling // parents without a row that are in the books
	worn   map[aviary.Ring][]*aviary.Bird
	found  map[string]string // species name -> slug
	lost   map[string]string // species name -> why it was not found
}

// importBirds plans each table on top of the one before it.
func importBirds(room *aviary.Room, files []*table, opt Options, p *Plan) {
	if opt.NewID == nil || opt.FindSpecies == nil {
		panic("exchange: a birds table needs Options.NewID and Options.FindSpecies")
	}
	scratch := aviary.Replay(room.Entries())
	for _, f := range files {
		t := &birdTable{file: f, opt: opt, room: scratch, plan: p, byRing: map[aviary.Ring]*fledgling{}, found: map[string]string{}, lost: map[string]string{}}
		before, first := p.problems, len(p.Rows)
		if t.read() {
			t.link()
			t.describe()
		}
		for _, r := range t.rows {
			p.add(r.report)
			if len(r.report.Problems) > 0 && p.tooMany(f.name) {
				break
			}
		}
		if p.problems == before {
			t.write(first)
		}
		// Rows that cannot be taken apart are reported first; put them where they stand in the file.
		slices.SortStableFunc(p.Rows[first:], func(a, b RowReport) int { return a.Line - b.Line })
	}
}

// ---- reading ----

func (t *birdTable) read() bool {
	rows := newRowReader(t.file.text, t.file.sep)
	head, _, err := firstRow(rows)
	if err != nil {
		t.plan.refuse(t.file.name, err.line, "%s", err.message)
		return false
	}
	if !t.header(head) {
		return false
	}
	var raw []row
	before := t.plan.problems
	for {
		r, ok, bad := rows.next()
		if ok && r.blank() {
			continue
		}
		if ok {
			r, bad = r.fit(len(head.cells))
		}
		switch {
		case bad != nil:
			t.plan.refuse(t.file.name, bad.line, "%s", bad.message)
			if t.plan.tooMany(t.file.name) {
				return false
			}
		case !ok:
			if len(raw) == 0 && t.plan.problems == before {
				t.plan.refuse(t.file.name, 0, "there is no bird under the header")
			}
			t.cells(raw)
			return len(raw) > 0
		default:
			if raw = append(raw, r); len(raw) > MaxRows {
				t.plan.refuse(t.file.name, 0, "there are more than %d rows; part the table into smaller ones", MaxRows)
				return false
			}
		}
	}
}

func (t *birdTable) header(head row) bool {
	report := RowReport{File: t.file.name, Line: head.line}
	for i := range t.at {
		t.at[i] = -1
	}
	var unread []string
	for i, c := range head.cells {
		c = trim(c)
		col, ok := columnOfWord[headerWord(c)]
		switch {
		case !ok:
			if c != "" {
				unread = append(unread, quoted(c))
			}
		case t.at[col] >= 0:
			report.wrong(c, "two columns say the same thing, “%s” and this one; take one of them out", t.head[col])
		default:
			t.at[col], t.head[col] = i, c
		}
	}
	if t.at[colRing] < 0 {
		report.wrong("", "no column is called ring; the first row names the columns, such as ring, species, sex, hatched, sire ring, dam ring, looks, cage, name")
	}
	if len(report.Problems) > 0 {
		t.plan.add(report)
		return false
	}
	if len(unread) > 0 {
		t.plan.note("%s: not read, for no such column is known: %s.", t.file.name, strings.Join(unread, ", "))
	}
	return true
}

// trim takes off space around a cell; spreadsheets put no-break spaces there.
func trim(s string) string { return strings.TrimFunc(s, unicode.IsSpace) }

var (
	sheetError = regexp.MustCompile(`^#(REF!|N/A|NAME\?|VALUE!|DIV/0!|NUM!|NULL!|SPILL!)$`)
	bigNumber  = regexp.MustCompile(`^\d([.,]\d+)?E\+\d+$`)
	noBird     = map[string]bool{"": true, "?": true, "-": true, "–": true, "na": true, "n/a": true, "none": true, "unknown": true, "not known": true}
	sexes      = map[string]aviary.Sex{
		"cock": aviary.Cock, "c": aviary.Cock, "m": aviary.Cock, "male": aviary.Cock, "1.0": aviary.Cock, "1,0": aviary.Cock, "1/0": aviary.Cock, "♂": aviary.Cock,
		"hen": aviary.Hen, "h": aviary.Hen, "f": aviary.Hen, "female": aviary.Hen, "0.1": aviary.Hen, "0,1": aviary.Hen, "0/1": aviary.Hen, "♀": aviary.Hen,
		"": "", "?": "", "-": "", "–": "", "u": "", "unknown": "", "not known": "", "unsexed": "", "n/a": "", "0.0.1": "", "0,0,1": "",
	}
)

// cells reads the cells of every row.
func (t *birdTable) cells(raw []row) {
	days := make([]dayCell, len(raw))
	for i, r := range raw {
		b := &fledgling{row: i}
		x := &birdRow{bird: b, report: RowReport{File: t.file.name, Line: r.line}}
		t.rows = append(t.rows, x)
		cell := func(col int) string {
			if t.at[col] < 0 {
				return ""
			}
			s := trim(r.cells[t.at[col]])
			if sheetError.MatchString(strings.ToUpper(s)) {
				x.report.wrong(t.head[col], "%s is a spreadsheet's sign for a mistake; mend that cell there", quoted(s))
				return ""
			}
			return s
		}
		b.ring = t.ring(x, colRing, cell(colRing))
		x.sire = t.ring(x, colSire, cell(colSire))
		x.dam = t.ring(x, colDam, cell(colDam))
		b.species = t.species(x, cell(colSpecies))
		b.name = cell(colName)
		b.cage = cell(colCage)
		for _, l := range strings.FieldsFunc(cell(colLooks), func(r rune) bool { return r == ';' || r == ',' }) {
			if l = trim(l); l != "" {
				b.looks = append(b.looks, l)
			}
		}
		word := cell(colSex)
		sex, ok := sexes[strings.ToLower(word)]
		if !ok {
			x.report.wrong(t.head[colSex], "%s is not a sex; write cock, hen, or leave it empty", quoted(word))
		}
		b.sex = sex
		if s := cell(colHatched); !noBird[strings.ToLower(s)] {
			var err error
			if days[i], err = readDay(s); err != nil {
				x.report.wrong(t.head[colHatched], "%s", err)
			}
		}
	}
	t.settleDays(raw, days)
}

// ring reads a ring. Of a parent, words and signs for "not known" are none.
func (t *birdTable) ring(x *birdRow, col int, s string) aviary.Ring {
	if noBird[strings.ToLower(s)] {
		return aviary.Ring{}
	}
	if bigNumber.MatchString(strings.ToUpper(s)) {
		x.report.wrong(t.head[col], "a spreadsheet has made a number of the ring (%s); write the ring again, as text", quoted(s))
		return aviary.Ring{}
	}
	r, err := aviary.ParseRing(s)
	switch {
	case err != nil:
		x.report.wrong(t.head[col], "%s", err)
	case strings.HasPrefix(s, "-") || strings.ContainsFunc(s, unicode.IsControl) || !strings.ContainsFunc(r.Number, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }):
		x.report.wrong(t.head[col], "%s is not a ring; write it as FC 25-019, or leave it empty when it is not read yet", quoted(s))
	default:
		return r
	}
	return aviary.Ring{}
}

func (t *birdTable) species(x *birdRow, name string) string {
	column := t.head[colSpecies]
	if name == "" {
		if name = t.opt.Species; name == "" {
			x.report.wrong(column, "say which species it is, in a column or for the whole table")
			return ""
		}
	}
	if slug, ok := t.found[name]; ok {
		return slug
	}
	why, ok := t.lost[name]
	if !ok {
		slug, err := t.opt.FindSpecies(name)
		if err == nil {
			t.found[name] = slug
			return slug
		}
		why = strings.TrimSuffix(err.Error(), ".")
		t.lost[name] = why
	}
	x.report.wrong(column, "%s", why)
	return ""
}

// settleDays reads the days of hatch. The order of day and month is the one that was said, or the one that
// the column shows; where it shows none, or both, nothing is guessed.
func (t *birdTable) settleDays(raw []row, days []dayCell) {
	dayFirst, dayLine, monthLine, either := false, 0, 0, 0
	for i, d := range days {
		df, mf := d.order()
		if df && dayLine == 0 {
			dayLine = raw[i].line
		}
		if mf && monthLine == 0 {
			monthLine = raw[i].line
		}
		if d.either() {
			either++
		}
	}
	asked := false
	switch {
	case t.opt.DayFirst != nil:
		dayFirst = *t.opt.DayFirst
	case dayLine > 0 && monthLine == 0:
		dayFirst = true
		if either > 0 {
			t.plan.note("%s: days are read with the day first, as line %d shows.", t.file.name, dayLine)
		}
	case monthLine > 0 && dayLine == 0:
		if either > 0 {
			t.plan.note("%s: days are read with the month first, as line %d shows.", t.file.name, monthLine)
		}
	case either > 0:
		asked = true
		t.plan.AskDayOrder = t.plan.AskDayOrder || dayLine == 0
	}
	for i, d := range days {
		if d == (dayCell{}) {
			continue
		}
		x, column := t.rows[i], t.head[colHatched]
		shown := trim(raw[i].cells[t.at[colHatched]])
		first := dayFirst
		if t.opt.DayFirst == nil && dayLine > 0 && monthLine > 0 {
			// Both orders stand in the column: a day that only one of them reads is that one.
			first, _ = d.order()
		}
		if d.either() && asked {
			if dayLine > 0 {
				x.report.wrong(column, "%s may be read with the day or the month first, and the column shows both (lines %d and %d); write days as 2026-01-13", quoted(shown), dayLine, monthLine)
			} else {
				x.report.wrong(column, "%s may be read with the day or the month first; say which, or write days as 2026-01-13", quoted(shown))
			}
			continue
		}
		day, err := d.resolve(first, shown)
		_, otherwise := d.resolve(!first, shown)
		switch {
		case err != nil && otherwise == nil:
			x.report.wrong(column, "%s is no day with the %s first; look at it again, or say the other order", quoted(shown), map[bool]string{true: "day", false: "month"}[first])
		case err != nil:
			x.report.wrong(column, "%s", err)
		case day > t.opt.Day:
			x.report.wrong(column, "%s has not come yet (the birds are brought in on %s)", day.Long(), t.opt.Day.Long())
		default:
			x.bird.hatched = day
		}
	}
}

// ---- linking ----

// link finds each bird's parents and holds the table against itself: rings, roles, ages, loops.
func (t *birdTable) link() {
	for i, x := range t.rows {
		b := x.bird
		if !b.ring.Read() {
			continue
		}
		if other := t.byRing[b.ring]; other != nil {
			x.report.wrong(t.head[colRing], "line %d has the ring %s too; one ring is on one bird", t.rows[other.row].report.Line, b.ring)
			continue
		}
		t.byRing[b.ring] = b
		if known := t.room.Wearer(b.ring); known != nil {
			if !t.opt.SkipKnown {
				x.report.wrong(t.head[colRing], "a bird with the ring %s is in the books already; take the row out, or have known birds skipped", b.ring)
			}
			t.byRing[b.ring] = &fledgling{known: known, row: i, sex: known.Sex, hatched: known.Hatched, ring: b.ring}
			x.bird = t.byRing[b.ring]
		}
	}
	for i, x := range t.rows {
		if x.bird.known == nil {
			x.bird.sire = t.parent(i, x.sire, colSire)
			x.bird.dam = t.parent(i, x.dam, colDam)
		}
	}
	t.roles()
	t.loops()
	for _, x := range t.rows {
		for _, p := range []struct {
			bird *fledgling
			col  int
			word string
		}{{x.bird.sire, colSire, "father"}, {x.bird.dam, colDam, "mother"}} {
			if p.bird != nil && p.bird.hatched != 0 && x.bird.hatched != 0 && p.bird.hatched >= x.bird.hatched && p.bird != x.bird {
				x.report.wrong(t.head[p.col], "the %s %s hatched on %s%s, not before its young (%s); look at both days", p.word, p.bird.label(), p.bird.hatched.Long(), t.onLine(p.bird), x.bird.hatched.Long())
			}
		}
	}
}

// onLine says on which line a bird's own row is, if it has one.
func (t *birdTable) onLine(b *fledgling) string {
	if b.row < 0 {
		return ""
	}
	return fmt.Sprintf(" (line %d)", t.rows[b.row].report.Line)
}

// nobody is how lists of ancestry often write a parent that is not known. It is a ring only where a row has it.
var nobody = aviary.Ring{Number: "0"}

// parent finds a parent by its ring: in the table, in the books, or else as a bird without a row.
func (t *birdTable) parent(child int, ring aviary.Ring, col int) *fledgling {
	if !ring.Read() {
		return nil
	}
	p := t.byRing[ring]
	if p == nil {
		if ring == nobody {
			return nil
		}
		p = &fledgling{row: -1, ring: ring, species: t.rows[child].bird.species}
		switch was := t.wore(ring); {
		case len(was) == 1:
			p.known, p.sex, p.hatched = was[0], was[0].Sex, was[0].Hatched
			t.inRoom = append(t.inRoom, p)
		case len(was) > 1:
			t.rows[child].report.wrong(t.head[col], "%d birds in the books have worn the ring %s, so this cannot be told; leave it empty and set the parent afterwards", len(was), ring)
			return nil
		default:
			t.extra = append(t.extra, p)
		}
		t.byRing[ring] = p
	}
	if col == colSire && p.sireOf == 0 {
		p.sireOf = child + 1
	}
	if col == colDam && p.damOf == 0 {
		p.damOf = child + 1
	}
	return p
}

// wore returns the bird in the books that wears a ring, or those that once did.
func (t *birdTable) wore(ring aviary.Ring) []*aviary.Bird {
	if b := t.room.Wearer(ring); b != nil {
		return []*aviary.Bird{b}
	}
	if t.worn == nil {
		t.worn = map[aviary.Ring][]*aviary.Bird{}
		for _, b := range t.room.Birds() {
			for _, w := range b.Rings {
				if !slices.Contains(t.worn[w.Ring], b) {
					t.worn[w.Ring] = append(t.worn[w.Ring], b)
				}
			}
		}
	}
	return t.worn[ring]
}

// roles holds each parent's sex against what it is named as, and sexes by its role a parent whose sex is not said.
func (t *birdTable) roles() {
	parents := slices.Concat(t.extra, t.inRoom)
	for _, x := range t.rows {
		parents = append(parents, x.bird)
	}
	for _, p := range parents {
		if p.sireOf > 0 && p.damOf > 0 {
			x := t.rows[max(p.sireOf, p.damOf)-1]
			if p.sireOf == p.damOf {
				x.report.wrong(t.head[colDam], "%s is named as father and as mother; one bird cannot be both", p.label())
			} else {
				first, second, col := "father", "mother", colDam
				if p.sireOf > p.damOf {
					first, second, col = second, first, colSire
				}
				x.report.wrong(t.head[col], "%s is named as %s here and as %s on line %d; one bird cannot be both", p.label(), second, first, t.rows[min(p.sireOf, p.damOf)-1].report.Line)
			}
			continue
		}
		switch {
		case p.sireOf > 0 && p.sex == aviary.Hen:
			t.rows[p.sireOf-1].report.wrong(t.head[colSire], "%s is a hen%s; a hen cannot be a father", p.label(), t.onLine(p))
		case p.damOf > 0 && p.sex == aviary.Cock:
			t.rows[p.damOf-1].report.wrong(t.head[colDam], "%s is a cock%s; a cock cannot be a mother", p.label(), t.onLine(p))
		case p.sex == "" && p.known == nil && p.sireOf > 0:
			p.sex, p.sexed = aviary.Cock, "as a father"
		case p.sex == "" && p.known == nil && p.damOf > 0:
			p.sex, p.sexed = aviary.Hen, "as a mother"
		}
	}
}

// loops gives each bird its generation in the table, parents before their young, and reports each loop of ancestry once.
func (t *birdTable) loops() {
	const (
		fresh = iota
		onPath
		done
	)
	state := map[*fledgling]int{}
	for _, x := range t.rows {
		if state[x.bird] != fresh {
			continue
		}
		path := []*fledgling{x.bird}
		state[x.bird] = onPath
		for len(path) > 0 {
			top := path[len(path)-1]
			deeper := false
			for _, p := range []*fledgling{top.sire, top.dam} {
				if p == nil {
					continue
				}
				switch state[p] {
				case fresh:
					state[p] = onPath
					path = append(path, p)
					deeper = true
				case onPath:
					t.loop(path[slices.Index(path, p):])
					// Cut the loop, so that the rest of the table is looked at.
					if top.sire == p {
						top.sire = nil
					} else {
						top.dam = nil
					}
				case done:
					top.generation = max(top.generation, p.generation+1)
				}
				if deeper {
					break
				}
			}
			if !deeper {
				state[top] = done
				path = path[:len(path)-1]
			}
		}
	}
}

// loop reports a loop: each bird of it names the next as a parent, and the last names the first.
func (t *birdTable) loop(loop []*fledgling) {
	young := loop[len(loop)-1]
	x := t.rows[young.row]
	col := colSire
	if young.sire != loop[0] {
		col = colDam
	}
	if len(loop) == 1 {
		x.report.wrong(t.head[col], "%s is named as its own parent", young.label())
		return
	}
	const shown = 6 // birds; a longer chain hides the sentence
	var chain []string
	for i, b := range loop {
		if i == shown {
			chain = append(chain, "…")
			break
		}
		chain = append(chain, b.label()+t.onLine(b))
	}
	x.report.wrong(t.head[col], "%s would be an ancestor of itself, by way of %s; one of these parents is wrong", young.label(), strings.Join(chain, ", "))
}

// describe says in words what each row would do.
func (t *birdTable) describe() {
	named := map[*fledgling]bool{}
	for _, x := range t.rows {
		b := x.bird
		if b.known != nil {
			x.report.Does = b.label() + " is in the books already and is left as it is"
			continue
		}
		s := "adds "
		switch b.sex {
		case "":
			s += "the bird "
		default:
			s += "the " + string(b.sex) + " "
		}
		if b.ring.Read() {
			s += b.ring.String()
		} else {
			s += "whose ring is not read yet"
		}
		if b.name != "" {
			s += ", " + b.name
		}
		if b.species != "" {
			s += ", " + b.species
		}
		if b.hatched != 0 {
			s += ", hatched " + b.hatched.Long()
		}
		if b.sexed != "" {
			s += ", sexed " + b.sexed
		}
		for _, p := range []struct {
			bird *fledgling
			word string
		}{{b.sire, "father"}, {b.dam, "mother"}} {
			if p.bird == nil {
				continue
			}
			s += ", " + p.word + " " + p.bird.label()
			if p.bird.row < 0 && p.bird.known == nil && !named[p.bird] {
				named[p.bird] = true
				s += " (who has no row and is added too)"
			}
		}
		if b.cage != "" {
			s += ", in " + b.cage
			if t.room.PlaceNamed(b.cage) == nil {
				s += " (a new cage)"
			}
		}
		x.report.Does = s
	}
}

// ---- writing ----

// write makes the entries and tries them in the room. What the room refuses is reported with its row; the
// rows of the table begin at first in the plan.
func (t *birdTable) write(first int) {
	batch := t.opt.NewID()
	try := func(id aviary.ID, day aviary.Date, body aviary.Body, owner *fledgling) bool {
		info, _ := aviary.KindOf(body.Kind())
		e := &aviary.Entry{ID: id, Kind: info.Kind, Version: info.Version, Day: day, Written: t.opt.Written, By: t.opt.By, Batch: batch, Body: body}
		if day == t.opt.Day {
			e.Time = t.opt.Time
		}
		if err := t.room.Check(e, t.opt.Today); err != nil {
			t.refused(err, body, owner, first)
			return false
		}
		t.room.Apply(e)
		t.plan.Entries = append(t.plan.Entries, e)
		return true
	}
	try(batch, t.opt.Day, &aviary.ImportMade{Name: importName(t.file.name), Rows: len(t.rows)}, nil)
	birds := slices.Clone(t.extra)
	for _, x := range t.rows {
		if x.bird.known != nil {
			t.plan.Known++
			continue
		}
		birds = append(birds, x.bird)
	}
	cages := map[string]aviary.ID{}
	for _, b := range birds {
		key := strings.ToLower(b.cage)
		if _, looked := cages[key]; looked || b.cage == "" {
			continue
		}
		if p := t.room.PlaceNamed(b.cage); p != nil {
			cages[key] = p.ID
			continue
		}
		cage := t.opt.NewID()
		if !try(t.opt.NewID(), t.opt.Day, &aviary.PlaceAdded{Place: cage, Name: b.cage, Type: aviary.Cage}, b) {
			cage = aviary.ID{} // reported once; its birds are looked at without it
		}
		cages[key] = cage
	}
	slices.SortStableFunc(birds, func(a, b *fledgling) int { return a.generation - b.generation })
	for _, b := range birds {
		if t.plan.problems > maxProblems {
			return
		}
		b.id = t.opt.NewID()
		body := &aviary.BirdAcquired{Bird: b.id, Species: b.species, Sex: b.sex, Hatched: b.hatched, Name: b.name, Ring: b.ring, Sire: b.sire.inBooks(), Dam: b.dam.inBooks(), Looks: b.looks, Found: true}
		day := t.opt.Day
		if b.hatched != 0 && b.hatched < day {
			// It is in the books from its hatch, so that older looks and pairs can be written; where it
			// was before the import is not known.
			day = b.hatched
		}
		place := cages[strings.ToLower(b.cage)]
		if day == t.opt.Day {
			body.Place = place
		}
		if try(t.opt.NewID(), day, body, b) && place != body.Place {
			try(t.opt.NewID(), t.opt.Day, &aviary.BirdMoved{Bird: b.id, Place: place, Reason: "as the imported table says"}, b)
		}
	}
	t.plan.Batches = append(t.plan.Batches, batch)
}

// inBooks is the id under which a parent stands in the books, or none.
func (f *fledgling) inBooks() aviary.ID {
	switch {
	case f == nil:
		return aviary.ID{}
	case f.known != nil:
		return f.known.ID
	}
	return f.id
}

// refused reports what the room refuses with the row that it comes from.
func (t *birdTable) refused(err error, body aviary.Body, owner *fledgling, first int) {
	message := strings.TrimSuffix(err.Error(), ".")
	if owner == nil {
		t.plan.refuse(t.file.name, 0, "%s", message)
		return
	}
	column := ""
	var refusal *aviary.Error
	if _, isPlace := body.(*aviary.PlaceAdded); isPlace {
		column = t.head[colCage]
	} else if errors.As(err, &refusal) {
		if col, ok := columnOfField[refusal.Field]; ok {
			column = t.head[col]
		}
	}
	row := owner.row
	if row < 0 {
		row = max(owner.sireOf, owner.damOf) - 1
	}
	r := &t.plan.Rows[first+row]
	if len(r.Problems) == 0 {
		t.plan.problems++
	}
	r.wrong(column, "%s", message)
}

// columnOfField says from which column a field of a bird's entries comes.
var columnOfField = map[string]int{
	"ring_issuer": colRing, "ring_year": colRing, "ring_number": colRing, "species": colSpecies, "sex": colSex,
	"hatched": colHatched, "sire": colSire, "dam": colDam, "looks": colLooks, "place": colCage, "name": colName,
}

// importName is the file's name as the import entry keeps it: without its folder and cut to fit.
func importName(name string) string {
	const most = 120 // letters in a name
	r := []rune(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return -1
		}
		return r
	}, readable(baseName(name))))
	return string(r[:min(len(r), most)])
}
