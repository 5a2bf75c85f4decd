package heredity

import (
	"embed"
	"fmt"
	"slices"
	"strings"
	"sync"
)

//go:embed catalogue/*.json
var catalogueFiles embed.FS

// CatalogueSlugs returns the species that have colours in the catalogue, by slug, in
// alphabetical order.
func CatalogueSlugs() []string {
	list, err := catalogueFiles.ReadDir("catalogue")
	if err != nil {
		panic("heredity: " + err.Error())
	}
	var out []string
	for _, f := range list {
		out = append(out, strings.TrimSuffix(f.Name(), ".json"))
	}
	slices.Sort(out)
	return out
}

// CatalogueFile returns the loci file of a species as it is embedded, or nil.
func CatalogueFile(slug string) []byte {
	data, err := catalogueFiles.ReadFile("catalogue/" + slug + ".json")
	if err != nil {
		return nil
	}
	return data
}

var catalogue = sync.OnceValues(func() (map[string]*Model, error) {
	out := map[string]*Model{}
	for _, slug := range CatalogueSlugs() {
		m, err := Read(CatalogueFile(slug))
		if err != nil {
			return nil, fmt.Errorf("colour catalogue, %s: %w", slug, err)
		}
		out[slug] = m
	}
	return out, nil
})

// Catalogue returns the known colours of a species by its slug. Each locus and each allele
// carries its source and how sure it is; colours whose inheritance is unknown or disputed
// stand under Unsettled and have no locus, and some species have no others. Founder
// frequencies are not set. ok is false for a species without any word on its colours.
// To ask about some colours take [Model.Only] of their loci: that keeps tables small. The model is shared: the With
// methods make changed copies.
func Catalogue(slug string) (m *Model, ok bool) {
	all, err := catalogue()
	if err != nil {
		// The files are part of the program, and a test reads them all.
		panic("heredity: " + err.Error())
	}
	m, ok = all[slug]
	return m, ok
}
