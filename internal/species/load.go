package species

import (
	"bytes"
	"cmp"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

//go:embed data/*.json
var files embed.FS

//go:embed parameters.json
var parametersJSON []byte

// shortLetters is how many letters a cage tile has room for.
const shortLetters = 11

// described is parameters.json as read: the order in which pages show the parameters,
// and each one's description.
type described struct {
	order []Parameter
	info  map[Parameter]Info
}

var describe = sync.OnceValue(func() described {
	d, err := parseParameters(parametersJSON)
	if err != nil {
		panic("species: parameters.json: " + err.Error())
	}
	return d
})

func parseParameters(text []byte) (described, error) {
	var infos []Info
	if err := decodeStrict(text, &infos); err != nil {
		return described{}, err
	}
	d := described{info: make(map[Parameter]Info, len(infos))}
	for _, in := range infos {
		switch {
		case in.Parameter == "" || in.Section == "" || in.Label == "" || in.Explains == "":
			return described{}, fmt.Errorf("%q: parameter, section, label and explains are all needed", in.Parameter)
		case !in.Unit.known():
			return described{}, fmt.Errorf("%s: unknown unit %q", in.Parameter, in.Unit)
		case in.Unit != Words && !(in.Least < in.Most):
			return described{}, fmt.Errorf("%s: least must be below most", in.Parameter)
		}
		if _, twice := d.info[in.Parameter]; twice {
			return described{}, fmt.Errorf("%s stands there twice", in.Parameter)
		}
		d.order = append(d.order, in.Parameter)
		d.info[in.Parameter] = in
	}
	return d, nil
}

// file is the shape of data/<slug>.json.
type file struct {
	Slug             string              `json:"slug"`
	English          []string            `json:"english"` // the first is shown
	Short            string              `json:"short"`
	Latin            []string            `json:"latin"` // the first is shown
	Group            Group               `json:"group"`
	QuarrelsomeCocks Trait               `json:"quarrelsome_cocks"`
	Glutton          Trait               `json:"glutton"`
	PairNotes        []PairNote          `json:"pair_notes"`
	Values           map[Parameter]Value `json:"values"`
}

// load reads data/*.json, checks it and returns the profiles by group and name.
func load(fsys fs.FS) ([]*Profile, error) {
	names, err := fs.Glob(fsys, "data/*.json")
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, errors.New("no species files")
	}
	var profiles []*Profile
	owner := make(map[string]string) // folded name -> slug
	for _, name := range names {
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, err
		}
		p, err := parseProfile(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if want := path.Base(name); want != p.Slug+".json" {
			return nil, fmt.Errorf("%s: slug is %q", name, p.Slug)
		}
		for _, n := range p.Names() {
			key := fold(n)
			if key == "" {
				return nil, fmt.Errorf("%s: the name %q has no letters", name, n)
			}
			if other, ok := owner[key]; ok && other != p.Slug {
				return nil, fmt.Errorf("%s: the name %q belongs to %s too", name, n, other)
			}
			owner[key] = p.Slug
		}
		profiles = append(profiles, p)
	}
	slices.SortFunc(profiles, func(a, b *Profile) int {
		return cmp.Or(
			cmp.Compare(slices.Index(groups, a.Group), slices.Index(groups, b.Group)),
			cmp.Compare(a.English, b.English),
		)
	})
	return profiles, nil
}

func parseProfile(text []byte) (*Profile, error) {
	var f file
	if err := decodeStrict(text, &f); err != nil {
		return nil, err
	}
	switch {
	case f.Slug == "" || strings.Trim(f.Slug, "abcdefghijklmnopqrstuvwxyz-") != "":
		return nil, fmt.Errorf("slug %q: use small letters and hyphens", f.Slug)
	case len(f.English) == 0 || len(f.Latin) == 0:
		return nil, errors.New("at least one English and one scientific name are needed")
	case f.Short == "" || utf8.RuneCountInString(f.Short) > shortLetters:
		return nil, fmt.Errorf("short name %q: 1 to %d letters", f.Short, shortLetters)
	case !slices.Contains(groups, f.Group):
		return nil, fmt.Errorf("unknown group %q", f.Group)
	}
	for _, n := range f.PairNotes {
		if err := n.check(); err != nil {
			return nil, fmt.Errorf("pair_notes: %w", err)
		}
	}
	if err := f.QuarrelsomeCocks.check(Yes, No, Unknown); err != nil {
		return nil, fmt.Errorf("quarrelsome_cocks: %w", err)
	}
	if err := f.Glutton.check(Yes, Moderate, Some, Low, No, Unknown); err != nil {
		return nil, fmt.Errorf("glutton: %w", err)
	}
	for param, v := range f.Values {
		info, ok := Describe(param)
		if !ok {
			return nil, fmt.Errorf("unknown parameter %q", param)
		}
		if err := v.check(info); err != nil {
			return nil, fmt.Errorf("%s: %w", param, err)
		}
	}
	return &Profile{
		Slug:    f.Slug,
		English: f.English[0], AlsoEnglish: f.English[1:],
		Short: f.Short,
		Latin: f.Latin[0], AlsoLatin: f.Latin[1:],
		Group:            f.Group,
		QuarrelsomeCocks: f.QuarrelsomeCocks,
		Glutton:          f.Glutton,
		PairNotes:        f.PairNotes,
		Values:           f.Values,
	}, nil
}

// decodeStrict reads one JSON value into dst and refuses unknown fields and a tail.
func decodeStrict(text []byte, dst any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(dst); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("text after the end of the JSON value")
	}
	return nil
}

func (t Trait) check(answers ...Answer) error {
	if !slices.Contains(answers, t.Answer) {
		return fmt.Errorf("unknown answer %q", t.Answer)
	}
	return checkSource(t.Basis, t.Source)
}

// check reports what is wrong with a value read from a data file.
func (v Value) check(info Info) error {
	if v.Unit != info.Unit {
		return fmt.Errorf("unit is %q, want %q", v.Unit, info.Unit)
	}
	if err := checkSource(v.Basis, v.Source); err != nil {
		return err
	}
	figures := []*float64{v.Low, v.Typical, v.High}
	given := false
	last := math.Inf(-1)
	for _, x := range figures {
		if x == nil {
			continue
		}
		given = true
		if *x < info.Least || *x > info.Most {
			return fmt.Errorf("%v is outside %v to %v", *x, info.Least, info.Most)
		}
		if *x < last {
			return errors.New("low, typical and high are out of order")
		}
		last = *x
	}
	switch {
	case given && info.Unit == Words:
		return errors.New("takes words, not figures")
	case !given && v.Text == "":
		return errors.New("neither a figure nor words: leave it out")
	}
	return nil
}

// checkSource demands a source, and that it says plainly when it is none.
func checkSource(b Basis, source string) error {
	if strings.TrimSpace(source) == "" {
		return errors.New("no source")
	}
	begins := ""
	switch b {
	case Published:
		for _, s := range []string{"common practice", "from memory", "derived"} {
			if strings.HasPrefix(source, s) {
				return fmt.Errorf("basis is %s, but its source begins %q", b, s)
			}
		}
		return nil
	case CommonPractice:
		begins = "common practice"
	case FromMemory:
		begins = "from memory"
	case Derived:
		begins = "derived"
	default:
		return fmt.Errorf("unknown basis %q", b)
	}
	if !strings.HasPrefix(source, begins) {
		return fmt.Errorf("basis is %s, so its source must begin %q", b, begins)
	}
	return nil
}
