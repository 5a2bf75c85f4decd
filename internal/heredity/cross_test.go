package heredity_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"broodlight/internal/heredity"

	"pgregory.net/rapid"
)

func mustBird(tb testing.TB, m *heredity.Model, s heredity.Sex, text string) []heredity.Possible {
	tb.Helper()
	p, err := m.Bird(s, text)
	if err != nil {
		tb.Fatalf("%s: %v", text, err)
	}
	return p
}

func mustCross(tb testing.TB, m *heredity.Model, cock, hen []heredity.Possible) *heredity.Young {
	tb.Helper()
	y, err := heredity.Cross(m, cock, hen)
	if err != nil {
		tb.Fatal(err)
	}
	sum := 0.0
	for _, l := range y.Lines {
		sum += l.P
	}
	if !near(sum, 1, 1e-12) {
		tb.Fatalf("shares add up to %v", sum)
	}
	return y
}

// bySex adds lines up by sex and looks (of all traits that say something, joined by
// spaces), as shares of that sex.
func bySex(m *heredity.Model, y *heredity.Young) map[string]float64 {
	out := map[string]float64{}
	var all [3]float64
	for _, l := range y.Lines {
		all[l.Sex] += l.P
	}
	for _, s := range y.ByLooks() {
		var words []string
		for t, l := range s.Looks {
			words = append(words, m.Traits[t].Looks[l].Name)
		}
		out[s.Sex.String()+" "+strings.Join(words, " ")] += s.P / all[s.Sex]
	}
	return out
}

// youngOf picks the young of one sex of a pair, as parents known in probability.
func youngOf(y *heredity.Young, s heredity.Sex) []heredity.Possible {
	var out []heredity.Possible
	sum := 0.0
	for _, l := range y.Lines {
		if l.Sex == s {
			out = append(out, heredity.Possible{Genome: l.Genome, P: l.P})
			sum += l.P
		}
	}
	for i := range out {
		out[i].P /= sum
	}
	return out
}

const q = `"frequency":0.5`

// twoAlleles is one locus with alleles that have no capital difference but order.
func twoAlleles(id, chromosome, a, b string) string {
	return fmt.Sprintf(`{"id":%q,"chromosome":%q,"alleles":[{"id":%q,%s},{"id":%q,%s}]}`, id, chromosome, a, q, b, q)
}

const (
	breastTrait = `{"id":"breast","looks":[{"look":"purple","when":[{"breast":["P/P","P/l","P/w"]}]},{"look":"lilac","when":[{"breast":["l/l","l/w"]}]},{"look":"white"}]}`
	linked      = `{"loci":[%s,%s],"linkage":[{"between":["f","c"],"recombination":%v}],"traits":[{"id":"body","looks":[{"look":"fawn CFW","when":[{"f":["f/f","f"],"c":["c/c","c"]}]},{"look":"fawn","when":[{"f":["f/f","f"],"c":["+/+","+/c","+"]}]},{"look":"CFW","when":[{"f":["+/+","+/f","+"],"c":["c/c","c"]}]},{"look":"grey"}]}]}`
)

// expectation returns the model and the parents of a row of cross_expectations.csv.
func expectation(tb testing.TB, id, pairing string) (*heredity.Model, []heredity.Possible, []heredity.Possible) {
	tb.Helper()
	cock, hen, ok := strings.Cut(strings.TrimSuffix(strings.TrimSuffix(pairing, " (either way round)"), ", lethal homozygote model"), " x ")
	family := regexp.MustCompile(`^[A-Z]+`).FindString(id)
	one := func(m *heredity.Model, c, h string) (*heredity.Model, []heredity.Possible, []heredity.Possible) {
		return m, mustBird(tb, m, heredity.Cock, c), mustBird(tb, m, heredity.Hen, h)
	}
	word := func(s string, words map[string]string) string {
		g, ok := words[s]
		if !ok {
			tb.Fatalf("%s: cannot read %q", id, s)
		}
		return g
	}
	split := func(s string) string { return s[:1] + "/" + s[1:] } // "Pl" to "P/l"
	switch family {
	case "ZREC":
		m := mustModel(tb, `{"loci":[`+twoAlleles("v", "Z", "+", "v")+`],"traits":[{"id":"v","looks":[{"look":"visual","when":[{"v":["v/v","v"]}]},{"look":"normal split visual","when":[{"v":["+/v"]}]},{"look":"normal"}]}]}`)
		return one(m, word(cock, map[string]string{"visual cock": "v=v/v", "normal cock": "v=+/+", "split cock": "v=+/v"}),
			word(hen, map[string]string{"visual hen": "v=v", "normal hen": "v=+"}))
	case "AREC":
		m := mustModel(tb, `{"loci":[`+twoAlleles("v", "autosome", "+", "v")+`],"traits":[{"id":"v","looks":[{"look":"visual","when":[{"v":["v/v"]}]},{"look":"normal split","when":[{"v":["+/v"]}]},{"look":"normal"}]}]}`)
		words := map[string]string{"visual": "v=v/v", "normal": "v=+/+", "split": "v=+/v"}
		return one(m, word(cock, words), word(hen, words))
	case "ADOM":
		m := mustModel(tb, `{"loci":[`+twoAlleles("d", "autosome", "D", "+")+`],"traits":[{"id":"d","looks":[{"look":"double factor","when":[{"d":["D/D"]}]},{"look":"single factor","when":[{"d":["D/+"]}]},{"look":"normal"}]}]}`)
		words := map[string]string{"DF": "d=D/D", "normal": "d=+/+", "SF": "d=D/+"}
		return one(m, word(cock, words), word(hen, words))
	case "CREST":
		m := mustModel(tb, `{"loci":[{"id":"c","chromosome":"autosome","alleles":[{"id":"Cr",`+q+`},{"id":"+",`+q+`}],"survival":{"Cr/Cr":0}}],"traits":[{"id":"c","looks":[{"look":"crest","when":[{"c":["Cr/Cr","Cr/+"]}]},{"look":"plain"}]}]}`)
		return one(m, "c="+cock, "c="+hen)
	case "BREAST":
		m := mustModel(tb, `{"loci":[{"id":"breast","chromosome":"autosome","alleles":[{"id":"P"},{"id":"l"},{"id":"w"}]}],"traits":[`+breastTrait+`]}`)
		return one(m, "breast="+split(cock), "breast="+split(hen))
	case "BACK":
		m := mustModel(tb, `{"loci":[`+twoAlleles("y", "Z", "+", "g")+","+twoAlleles("b", "autosome", "B", "b")+`],"traits":[{"id":"back","looks":[{"look":"silver","when":[{"y":["g/g","g"],"b":["b/b"]}]},{"look":"pastel blue","when":[{"y":["+/g"],"b":["b/b"]}]},{"look":"blue","when":[{"y":["+/+","+"],"b":["b/b"]}]},{"look":"yellow","when":[{"y":["g/g","g"],"b":["B/B","B/b"]}]},{"look":"pastel","when":[{"y":["+/g"],"b":["B/B","B/b"]}]},{"look":"green"}]}]}`)
		return one(m, word(cock, map[string]string{
			"pastel cock": "y=+/g,b=B/B", "green cock": "y=+/+,b=B/B", "yellow cock": "y=g/g,b=B/B",
			"pastel cock split blue": "y=+/g,b=B/b", "pastel-blue cock": "y=+/g,b=b/b",
		}), word(hen, map[string]string{
			"green hen": "y=+,b=B/B", "yellow hen": "y=g,b=B/B", "yellow hen split blue": "y=g,b=B/b", "silver hen": "y=g,b=b/b",
		}))
	case "ZSER":
		m := mustModel(tb, `{"loci":[{"id":"s","chromosome":"Z","alleles":[{"id":"grey"},{"id":"lb"},{"id":"cfwB"},{"id":"cfwR"},{"id":"ino"}]}],"traits":[{"id":"s","looks":[{"look":"grey","when":[{"s":["grey/grey","grey/lb","grey/cfwB","grey/cfwR","grey/ino","grey"]}]},{"look":"lightback","when":[{"s":["lb/lb","lb/cfwB","lb/cfwR","lb/ino","lb"]}]},{"look":"CFW black-eyed","when":[{"s":["cfwB/cfwB","cfwB/cfwR","cfwB/ino","cfwB"]}]},{"look":"CFW red-eyed","when":[{"s":["cfwR/cfwR","cfwR/ino","cfwR"]}]},{"look":"ino"}]}]}`)
		return one(m, "s="+strings.TrimPrefix(cock, "cock "), "s="+strings.TrimPrefix(hen, "hen "))
	case "LINKREP", "LINKCPL", "LINKREPx":
		r := fraction(tb, id[strings.Index(id, "r=")+2:])
		m := mustModel(tb, fmt.Sprintf(linked, twoAlleles("f", "Z", "+", "f"), twoAlleles("c", "Z", "+", "c"), r))
		return one(m, word(cock, map[string]string{"grey cock f +/+ c (repulsion)": "f=f|+,c=+|c", "grey cock f c/+ + (coupling)": "f=f|+,c=c|+"}),
			word(hen, map[string]string{"grey hen": "f=+,c=+", "fawn CFW hen": "f=f,c=c"}))
	case "JAVA":
		m := mustModel(tb, `{"loci":[{"id":"w","chromosome":"autosome","alleles":[{"id":"W"},{"id":"w"},{"id":"g"}],"survival":{"W/W":0}}],"traits":[{"id":"w","looks":[{"look":"white","when":[{"w":["W/W","W/w","W/g","w/w"]}]},{"look":"mottled","when":[{"w":["w/g"]}]},{"look":"pigmented"}]}]}`)
		return one(m, "w="+split(cock), "w="+split(hen))
	case "SILKY":
		m := mustModel(tb, `{"loci":[`+twoAlleles("p", "autosome", "P", "p")+","+twoAlleles("i", "Z", "I", "i")+`],"traits":[{"id":"skin","looks":[{"look":"none","when":[{"p":["p/p"]}]},{"look":"slight","when":[{"p":["P/P","P/p"],"i":["I/I","I/i","I"]}]},{"look":"deep"}]}]}`)
		leghornCock, leghornHen := mustBird(tb, m, heredity.Cock, "p=p/p,i=I/I"), mustBird(tb, m, heredity.Hen, "p=p/p,i=I")
		silkyCock, silkyHen := mustBird(tb, m, heredity.Cock, "p=P/P,i=i/i"), mustBird(tb, m, heredity.Hen, "p=P/P,i=i")
		s1, s2 := mustCross(tb, m, leghornCock, silkyHen), mustCross(tb, m, silkyCock, leghornHen)
		switch id {
		case "SILKY1":
			return m, leghornCock, silkyHen
		case "SILKY2":
			return m, silkyCock, leghornHen
		case "SILKY3":
			return m, youngOf(s1, heredity.Cock), leghornHen
		case "SILKY4":
			return m, leghornCock, youngOf(s1, heredity.Hen)
		case "SILKY5":
			return m, youngOf(s1, heredity.Cock), youngOf(s1, heredity.Hen)
		case "SILKY6":
			return m, youngOf(s2, heredity.Cock), youngOf(s2, heredity.Hen)
		}
	case "BAR":
		m := mustModel(tb, `{"loci":[`+twoAlleles("b", "Z", "B", "+")+`],"traits":[{"id":"b","looks":[{"look":"barred","when":[{"b":["B/B","B/+","B"]}]},{"look":"black"}]}]}`)
		first := func(c, h string) *heredity.Young {
			return mustCross(tb, m, mustBird(tb, m, heredity.Cock, c), mustBird(tb, m, heredity.Hen, h))
		}
		switch id {
		case "BAR1":
			return one(m, "b=B/B", "b=+")
		case "BAR2":
			y := first("b=B/B", "b=+")
			return m, youngOf(y, heredity.Cock), youngOf(y, heredity.Hen)
		case "BAR3":
			return one(m, "b=+/+", "b=B")
		case "BAR4":
			y := first("b=+/+", "b=B")
			return m, youngOf(y, heredity.Cock), youngOf(y, heredity.Hen)
		}
	case "CAN":
		m := mustModel(tb, `{"loci":[`+twoAlleles("c", "Z", "+", "c")+`],"traits":[{"id":"eye","looks":[{"look":"pink-eyed","when":[{"c":["c/c","c"]}]},{"look":"black-eyed"}]}]}`)
		green := mustBird(tb, m, heredity.Cock, "c=+/+")
		f1 := youngOf(mustCross(tb, m, green, mustBird(tb, m, heredity.Hen, "c=c")), heredity.Cock)
		cocks := map[string][]heredity.Possible{"green cock": green, "F1 cock": f1, "cinnamon cock": mustBird(tb, m, heredity.Cock, "c=c/c")}
		hens := map[string]string{"green hen": "c=+", "cinnamon hen": "c=c"}
		if cocks[cock] != nil {
			return m, cocks[cock], mustBird(tb, m, heredity.Hen, word(hen, hens))
		}
	}
	if !ok {
		tb.Fatalf("%s: no pair in %q", id, pairing)
	}
	tb.Fatalf("%s: no model", id)
	return nil, nil, nil
}

// testdata/cross_expectations.csv holds 365 exact fractions with their sources: textbook
// Mendel, the trade's tables, Punnett 1911 (silky skin), Morgan 1916 (barring), Durham and
// Marryat 1908 (canary).
func TestCross_Expectations(t *testing.T) {
	type pair struct{ id, pairing string }
	var order []pair
	want := map[pair]map[string]float64{}
	rows := readCSV(t, "cross_expectations.csv")
	for _, r := range rows {
		p := pair{r["id"], r["pairing"]}
		if want[p] == nil {
			want[p] = map[string]float64{}
			order = append(order, p)
		}
		want[p][r["sex"]+" "+r["phenotype"]] = fraction(t, r["fraction_of_that_sex"])
	}
	checked := 0
	for _, p := range order {
		id := p.id
		if strings.HasPrefix(id, "JAVA ") {
			id = "JAVA"
		}
		m, cock, hen := expectation(t, id, p.pairing)
		pairs := [][2][]heredity.Possible{{cock, hen}}
		if strings.HasSuffix(p.pairing, "(either way round)") {
			c, h := slices.Clone(hen), slices.Clone(cock)
			c[0].Sex, h[0].Sex = heredity.Cock, heredity.Hen
			pairs = append(pairs, [2][]heredity.Possible{c, h})
		}
		for _, x := range pairs {
			y := mustCross(t, m, x[0], x[1])
			got := bySex(m, y)
			for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
				if y.Lost[s] > 0 {
					got[s.String()+" DIES IN EGG (share of all eggs of this sex)"] = y.Lost[s]
				}
			}
			for k, w := range want[p] {
				if !near(got[k], w, 1e-12) {
					t.Errorf("%s %s, %s: got %v, want %v", p.id, p.pairing, k, got[k], w)
				}
			}
			if len(got) != len(want[p]) {
				t.Errorf("%s %s: got %v, want %v", p.id, p.pairing, got, want[p])
			}
		}
		checked += len(want[p])
	}
	if checked != 365 || len(rows) != 365 {
		t.Errorf("%d of %d rows compared, want 365", checked, len(rows))
	}
}

const gouldianHead = `{"loci":[{"id":"head","chromosome":"Z","alleles":[{"id":"R","frequency":0.3},{"id":"r","frequency":0.7}]},{"id":"tip","chromosome":"autosome","alleles":[{"id":"Y","frequency":0.9},{"id":"y","frequency":0.1}]}],"traits":[{"id":"head","column":"head","looks":[{"look":"red","when":[{"head":["R/R","R/r","R"],"tip":["Y/Y","Y/y"]}]},{"look":"yellow","when":[{"head":["R/R","R/r","R"],"tip":["y/y"]}]},{"look":"black_yellowtip","when":[{"head":["r/r","r"],"tip":["y/y"]}]},{"look":"black_redtip"}]}]}`

// The 54 head pairings are enumerated from the rule in the trade's tables
// (1998-2013.gouldamadine.de: 9 cocks by 6 hens).
func TestCross_GouldianHeads(t *testing.T) {
	m := mustModel(t, gouldianHead)
	rows := readCSV(t, "gouldian_head_54.csv")
	if len(rows) != 54 {
		t.Fatalf("%d pairings, want 54", len(rows))
	}
	genotype := func(s string) string {
		f := strings.Fields(s)
		head := f[0][:1]
		if f[0][1] != '-' {
			head += "/" + f[0][1:]
		}
		return fmt.Sprintf("head=%s,tip=%s/%s", head, f[1][:1], f[1][1:])
	}
	for _, r := range rows {
		y := mustCross(t, m, mustBird(t, m, heredity.Cock, genotype(r["cock_genotype"])), mustBird(t, m, heredity.Hen, genotype(r["hen_genotype"])))
		got := bySex(m, y)
		for _, s := range []string{"cock", "hen"} {
			for _, look := range []string{"red", "yellow", "black_redtip", "black_yellowtip"} {
				if w := fraction(t, r[s+"s_"+look]); !near(got[s+" "+look], w, 1e-12) {
					t.Errorf("%s x %s: %s %s: got %v, want %v", r["cock_genotype"], r["hen_genotype"], s, look, got[s+" "+look], w)
				}
			}
		}
	}
}

func TestCross_GenotypesAndPhase(t *testing.T) {
	m := mustModel(t, fmt.Sprintf(linked, twoAlleles("f", "Z", "+", "f"), twoAlleles("c", "Z", "+", "c"), 0.1))
	open := mustBird(t, m, heredity.Cock, "f=+/f,c=+/c")
	if len(open) != 2 || !near(open[0].P, 0.5, 1e-12) {
		t.Fatalf("a cock of unknown phase: got %v, want two phases, half each", open)
	}
	y := mustCross(t, m, open, mustBird(t, m, heredity.Hen, "f=+,c=+"))
	// Either phase gives each kind of daughter as often as the other phase gives another,
	// so that all four are a quarter whatever the recombination.
	for k, p := range bySex(m, y) {
		if strings.HasPrefix(k, "hen") && !near(p, 0.25, 1e-12) {
			t.Errorf("%s: got %v, want 1/4", k, p)
		}
	}
	for _, l := range mustCross(t, m, mustBird(t, m, heredity.Cock, "f=f|+,c=+|c"), mustBird(t, m, heredity.Hen, "f=f,c=c")).Lines {
		if l.Sex == heredity.Cock && m.Traits[0].Looks[l.Looks[0]].Name == "grey" {
			if got := m.Text(l.Genome); got != "f=+|f,c=+|c" {
				t.Errorf("grey sons: got %s, want f=+|f,c=+|c", got)
			}
		}
	}
	if got := m.Text(mustBird(t, m, heredity.Hen, "c=c,f=+")[0].Genome); got != "f=+,c=c" {
		t.Errorf("hen: got %s", got)
	}
}

func TestBird_SaysWhatIsWrong(t *testing.T) {
	m := mustModel(t, gouldianHead)
	for _, c := range []struct {
		sex        heredity.Sex
		text, want string
	}{
		{heredity.Hen, "head=R/r", "one Z"},
		{heredity.Cock, "head=R", "has two"},
		{heredity.Cock, "tip=Y", "has one allele"},
		{heredity.Cock, "head=R/x", "no allele"},
		{heredity.Cock, "tail=R/r", "no locus"},
		{heredity.Cock, "head", "write it as"},
		{heredity.Cock, "head=R/r,head=R/R", "twice"},
		{heredity.Cock, "head=R//r", "not a genotype"},
	} {
		if _, err := m.Bird(c.sex, c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.text, err, c.want)
		}
	}
}

func TestBird_UnnamedLociComeFromTheFounders(t *testing.T) {
	m := mustModel(t, gouldianHead)
	p := mustBird(t, m, heredity.Cock, "tip=Y/y")
	got := map[string]float64{}
	for _, x := range p {
		got[m.Text(x.Genome)] += x.P
	}
	for k, w := range map[string]float64{"head=R/R,tip=Y/y": 0.09, "head=R/r,tip=Y/y": 0.42, "head=r/r,tip=Y/y": 0.49} {
		if !near(got[k], w, 1e-12) {
			t.Errorf("%s: got %v, want %v", k, got[k], w)
		}
	}
}

// A pair of which nothing is known has young in founders' proportions (Hardy-Weinberg),
// and a cross of parents in probability is the mean of the crosses.
func TestCross_Laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t)
		cock, err := m.Bird(heredity.Cock, "")
		if err != nil {
			t.Fatal(err)
		}
		hen, err := m.Bird(heredity.Hen, "")
		if err != nil {
			t.Fatal(err)
		}
		y, err := heredity.Cross(m, cock, hen)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range []heredity.Sex{heredity.Cock, heredity.Hen} {
			want := map[string]float64{}
			founders, err := m.Bird(s, "")
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range founders {
				want[m.Text(f.Genome)] += f.P / 2
			}
			for _, l := range y.Lines {
				if l.Sex == s {
					want[m.Text(l.Genome)] -= l.P
				}
			}
			for k, d := range want {
				if math.Abs(d) > 1e-12 {
					t.Fatalf("%s %s: off by %v", s, k, d)
				}
			}
		}
		mean := map[string]float64{}
		for _, c := range cock {
			w := c.P
			c.P = 1
			one, err := heredity.Cross(m, []heredity.Possible{c}, hen)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range one.ByLooks() {
				mean[fmt.Sprint(s.Sex, s.Looks)] += w * s.P
			}
		}
		for _, s := range y.ByLooks() {
			if got := mean[fmt.Sprint(s.Sex, s.Looks)]; !near(got, s.P, 1e-12) {
				t.Fatalf("%v: got %v from single cocks, %v at once", s.Looks, got, s.P)
			}
		}
	})
}

// With an unknown fraction the shares are shown over .03 to .5: repulsion gives r/2 double
// daughters (exact fractions in cross_expectations.csv).
func TestCrossRange_OverRecombination(t *testing.T) {
	text := strings.Replace(fmt.Sprintf(linked, twoAlleles("f", "Z", "+", "f"), twoAlleles("c", "Z", "+", "c"), 0.1), `"recombination":0.1`, `"recombination":null`, 1)
	m := mustModel(t, text)
	got, err := heredity.CrossRange(m, mustBird(t, m, heredity.Cock, "f=f|+,c=+|c"), mustBird(t, m, heredity.Hen, "f=+,c=+"))
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, s := range got {
		if s.Sex == heredity.Hen && m.Traits[0].Looks[s.Looks[0]].Name == "fawn CFW" {
			found = true
			if !near(s.Low, 0.03/4, 1e-12) || !near(s.High, 0.125, 1e-12) || !near(s.P, 0.125, 1e-12) {
				t.Errorf("double daughters: got %v, %v to %v, want 1/8, .0075 to 1/8", s.P, s.Low, s.High)
			}
		}
	}
	if !found {
		t.Error("no double daughters")
	}
	if len(m.Assumed()) != 1 {
		t.Errorf("assumed: %v", m.Assumed())
	}
}

func TestCrossRange_OverLethality(t *testing.T) {
	m := mustModel(t, `{"loci":[{"id":"c","chromosome":"autosome","alleles":[{"id":"Cr",`+q+`},{"id":"+",`+q+`}],"suspected_lethal":["Cr/Cr"]}],"traits":[{"id":"c","looks":[{"look":"crest","when":[{"c":["Cr/Cr","Cr/+"]}]},{"look":"plain"}]}]}`)
	got, err := heredity.CrossRange(m, mustBird(t, m, heredity.Cock, "c=Cr/+"), mustBird(t, m, heredity.Hen, "c=Cr/+"))
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 4 || !near(got[0].Low, 1./3, 1e-12) || !near(got[0].High, 3./8, 1e-12) {
		t.Errorf("crested cocks of all young: got %+v, want 1/3 to 3/8", got)
	}
}
