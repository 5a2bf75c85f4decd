package feed

import (
	"bytes"
	_ "embed" // for the guards of species
	"encoding/json"
	"fmt"
)

//go:embed data/guards.json
var guardsFile []byte

// Guard says how a species is kept from growing fat.
type Guard struct {
	Species string // as the species' file is named
	// Glutton says that egg food has a ceiling: the mix at half a teaspoon a pair until chicks hatch.
	Glutton bool
	// NoneSitting says that egg food stops from the last egg to the hatch.
	NoneSitting bool
	// RationLive says that live food is to be counted out.
	RationLive  bool
	Why, Source string
}

// Guards returns the guards that come with the program.
func Guards() []Guard {
	out, err := readGuards(guardsFile)
	if err != nil {
		panic("feed: " + err.Error())
	}
	return out
}

// FindGuard returns the guard of a species, by the name of its file; an empty one when it has none.
func FindGuard(guards []Guard, species string) Guard {
	for _, g := range guards {
		if g.Species == species {
			return g
		}
	}
	return Guard{Species: species}
}

func readGuards(raw []byte) ([]Guard, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	var in []struct {
		Species string `json:"species"`
		Greed   string `json:"greed"`
		Sitting bool   `json:"sitting"`
		Live    bool   `json:"live"`
		Why     string `json:"why"`
		Source  string `json:"source"`
	}
	if err := dec.Decode(&in); err != nil {
		return nil, err
	}
	var out []Guard
	seen := map[string]bool{}
	for _, g := range in {
		if g.Species == "" || seen[g.Species] || g.Why == "" || g.Source == "" || (g.Greed != "much" && g.Greed != "some") {
			return nil, fmt.Errorf("guard of %q: something is missing, or it stands twice", g.Species)
		}
		seen[g.Species] = true
		out = append(out, Guard{g.Species, g.Greed == "much", g.Sitting, g.Live, g.Why, g.Source})
	}
	return out, nil
}
