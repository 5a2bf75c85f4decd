package species

import (
	"errors"
	"fmt"
	"slices"
	"sync"
)

// A Basis says what a value rests on.
type Basis string

const (
	Published      Basis = "published"       // printed in a study, a database or a handbook
	CommonPractice Basis = "common-practice" // what keepers do; no single study behind it
	FromMemory     Basis = "from-memory"     // recalled and not looked up
	Derived        Basis = "derived"         // worked out from other figures
	OwnRoom        Basis = "own room"        // the keeper's own figure, laid over the profile
)

// Label returns the basis in words for the page, such as "common practice".
func (b Basis) Label() string {
	switch b {
	case CommonPractice:
		return "common practice"
	case FromMemory:
		return "from memory"
	case Derived:
		return "worked out"
	}
	return string(b)
}

// A Group is a set of species that the trade speaks of together.
type Group string

const (
	AustralianGrassfinch Group = "australian-grassfinch"
	Parrotfinch          Group = "parrotfinch"
	AsianMunia           Group = "asian-munia" // with the Java sparrow and the avadavat
	AfricanWaxbill       Group = "african-waxbill"
)

// groups lists every group in the order in which pages show them.
var groups = []Group{AustralianGrassfinch, Parrotfinch, AsianMunia, AfricanWaxbill}

// Groups returns every group in the order in which pages show them.
func Groups() []Group { return slices.Clone(groups) }

// Label returns the name of the group in words, such as "Australian grassfinches".
func (g Group) Label() string {
	switch g {
	case AustralianGrassfinch:
		return "Australian grassfinches"
	case Parrotfinch:
		return "Parrotfinches"
	case AsianMunia:
		return "Asian munias and the avadavat"
	case AfricanWaxbill:
		return "African waxbills"
	}
	return string(g)
}

// An Answer is how far a trait holds for a species.
type Answer string

const (
	Yes      Answer = "yes"
	Moderate Answer = "moderate"
	Some     Answer = "some"
	Low      Answer = "low"
	No       Answer = "no"
	Unknown  Answer = "unknown"
)

// A Trait is a habit of a species with its source.
type Trait struct {
	Answer Answer `json:"answer"`
	Basis  Basis  `json:"basis"`
	Source string `json:"source"`
	Note   string `json:"note,omitempty"`
}

// Holds reports whether the keeper should reckon with the trait: true for yes and
// moderate. Known is false when nothing is known of it.
func (t Trait) Holds() (holds, known bool) {
	return t.Answer == Yes || t.Answer == Moderate, t.Answer != Unknown
}

// A Profile is what is known of one species. Profiles are shared: callers read them
// and never change them.
type Profile struct {
	Slug        string   // short trade word, the id used in data: "owl"
	English     string   // the name that is shown: "Owl finch"
	AlsoEnglish []string // other English names
	Short       string   // the word on a cage tile, at most 11 letters
	Latin       string   // the scientific name that is shown
	AlsoLatin   []string // other scientific names in use
	Group       Group

	// QuarrelsomeCocks tells whether two cocks together in a small cage fight.
	// Its answer is Yes, No or Unknown.
	QuarrelsomeCocks Trait
	// Glutton tells whether the species over-eats soft food or live food.
	Glutton Trait

	// PairNotes are what is published of pairs whose looks differ; advice, never a bar.
	PairNotes []PairNote

	Values map[Parameter]Value // a parameter of which nothing is known is absent
}

// A PairNote is something to know of a cock and a hen that show looks of different groups of one trait.
type PairNote struct {
	Trait  string     `json:"trait"`
	Groups [][]string `json:"groups"` // looks of the trait that count as alike
	Note   string     `json:"note"`
	Basis  Basis      `json:"basis"`
	Source string     `json:"source"`
}

// Differ reports whether two looks of the trait stand in different groups.
func (n PairNote) Differ(a, b string) bool {
	group := func(look string) int {
		return slices.IndexFunc(n.Groups, func(g []string) bool { return slices.Contains(g, look) })
	}
	x, y := group(a), group(b)
	return x >= 0 && y >= 0 && x != y
}

func (n PairNote) check() error {
	switch {
	case n.Trait == "" || n.Note == "" || n.Source == "" || n.Basis == "":
		return errors.New("trait, note, basis and source are all needed")
	case len(n.Groups) < 2:
		return fmt.Errorf("%s: at least two groups of looks are needed", n.Trait)
	}
	return nil
}

// Value returns what is known of the parameter; ok is false when nothing is.
func (p *Profile) Value(param Parameter) (v Value, ok bool) {
	v, ok = p.Values[param]
	return v, ok
}

// Names returns every name of the species: slug, English names, scientific names.
func (p *Profile) Names() []string {
	names := []string{p.Slug, p.English}
	names = append(names, p.AlsoEnglish...)
	names = append(names, p.Latin)
	return append(names, p.AlsoLatin...)
}

// embedded is the catalogue of the embedded data without overrides.
var embedded = sync.OnceValue(func() *Catalogue {
	profiles, err := load(files)
	if err != nil {
		panic("species: embedded data: " + err.Error())
	}
	return newCatalogue(profiles)
})

// All returns the profiles, by group and then by English name.
func All() []*Profile { return embedded().All() }

// BySlug returns the profile with the slug, or nil.
func BySlug(slug string) *Profile { return embedded().BySlug(slug) }

// Find returns the species with the name: its slug, any of its English names or any
// of its scientific names. Case, spaces, hyphens and apostrophes do not matter. The
// error is an [*UnknownError].
func Find(name string) (*Profile, error) { return embedded().Find(name) }
