package exchange

import (
	"reflect"
	"slices"
	"strings"
	"sync"

	"broodlight/internal/aviary"
)

// Column is one column of an exported file, and what it means.
type Column struct {
	Name    string
	Meaning string
}

// envelope holds the columns that every file of facts begins with.
var envelope = []Column{
	{"id", "id of the entry (a UUID, version 7)"},
	{"kind", "kind of entry; the same as the file's name"},
	{"day", "day on which it happened, in the room's zone"},
	{"time", "time of day at which it happened, such as 06:48; empty when not known"},
	{"written", "instant at which it was written down, UTC, to the millisecond"},
	{"by", "who wrote it"},
	{"batch", "id of the step or import that it belongs to, if any"},
	{"strikes", "for strike: id of the entry or batch that is struck out"},
	{"why", "reason given for writing it against a warning"},
	{"version", "version of the form that the facts are in"},
}

// Columns returns the columns of a kind's file: those of every entry, then those of its facts.
// It returns nil for a kind that does not exist.
func Columns(kind aviary.Kind) []Column {
	info, ok := aviary.KindOf(kind)
	if !ok {
		return nil
	}
	out := slices.Clone(envelope)
	for _, f := range fieldsOf(info) {
		out = append(out, Column{f.name, f.meaning})
	}
	return out
}

// field is a column that comes from a body's field.
type field struct {
	name    string
	meaning string
	index   []int // as for reflect.Value.FieldByIndex
	omit    bool  // the stored form leaves out the zero value
}

var (
	fieldsMu    sync.Mutex
	fieldsKnown = map[aviary.Kind][]field{}
)

// fieldsOf lists the columns of a kind's facts in the order of its struct, an embedded struct's
// columns in the place of the struct. It panics when a body has a field that no cell can hold.
func fieldsOf(info aviary.KindInfo) []field {
	fieldsMu.Lock()
	defer fieldsMu.Unlock()
	if f, ok := fieldsKnown[info.Kind]; ok {
		return f
	}
	f := structFields(reflect.TypeOf(info.New()).Elem(), nil)
	fieldsKnown[info.Kind] = f
	return f
}

func structFields(t reflect.Type, at []int) []field {
	var out []field
	for i := range t.NumField() {
		sf := t.Field(i)
		index := append(slices.Clone(at), i)
		if sf.Anonymous {
			out = append(out, structFields(sf.Type, index)...)
			continue
		}
		if !sf.IsExported() {
			continue
		}
		name, rest, _ := strings.Cut(sf.Tag.Get("json"), ",")
		if name == "" || name == "-" || !fitsCell(sf.Type) {
			panic("exchange: " + t.Name() + "." + sf.Name + " cannot be a column")
		}
		out = append(out, field{name: name, meaning: sf.Tag.Get("doc"), index: index, omit: strings.Contains(rest, "omit")})
	}
	return out
}

// facts returns the fields of a body as an addressable struct.
func facts(b aviary.Body) reflect.Value { return reflect.ValueOf(b).Elem() }
