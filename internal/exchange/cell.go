package exchange

import (
	"encoding"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/google/uuid"
)

// A cell holds one value as text. The rules, which files.md tells the keeper:
//
//   - a value that is not there, or is zero where zero means the same, is an empty cell;
//   - a text that may be absent and is there but empty (a bank taken away, a closing day lifted) is a cell
//     of two quotation marks; a text of nothing but quotation marks gets two more, so that the two differ;
//   - a list is its items parted by semicolons; a semicolon or backslash inside an item follows a backslash;
//   - a number is the shortest that reads back as the same number.

var (
	textType   = reflect.TypeFor[encoding.TextMarshaler]()
	unTextType = reflect.TypeFor[encoding.TextUnmarshaler]()
	idType     = reflect.TypeFor[uuid.UUID]()
)

func isText(t reflect.Type) bool {
	return t.Implements(textType) && reflect.PointerTo(t).Implements(unTextType)
}

func fitsCell(t reflect.Type) bool {
	if t.Kind() == reflect.Pointer {
		return fitsScalar(t.Elem())
	}
	if t.Kind() == reflect.Slice && !isText(t) {
		return fitsScalar(t.Elem())
	}
	return fitsScalar(t)
}

func fitsScalar(t reflect.Type) bool {
	if isText(t) {
		return true
	}
	switch t.Kind() {
	case reflect.String, reflect.Bool, reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64, reflect.Float64:
		return true
	}
	return false
}

// encodeCell writes a value; omit says that zero is the same as absent.
func encodeCell(v reflect.Value, omit bool) (string, error) {
	t := v.Type()
	switch {
	case t.Kind() == reflect.Pointer:
		if v.IsNil() {
			return "", nil
		}
		s, err := encodeScalar(v.Elem())
		return marked(s), err
	case t.Kind() == reflect.Slice && !isText(t):
		if v.Len() == 0 {
			return "", nil
		}
		items := make([]string, v.Len())
		for i := range items {
			s, err := encodeScalar(v.Index(i))
			if err != nil {
				return "", err
			}
			items[i] = escapeItem.Replace(s)
		}
		return marked(strings.Join(items, ";")), nil
	case v.IsZero() && (omit || t.Kind() == reflect.Bool):
		return "", nil
	}
	return encodeScalar(v)
}

var escapeItem = strings.NewReplacer(`\`, `\\`, ";", `\;`)

func encodeScalar(v reflect.Value) (string, error) {
	t := v.Type()
	if isText(t) {
		if t == idType && v.IsZero() {
			return "", nil
		}
		b, err := v.Interface().(encoding.TextMarshaler).MarshalText()
		return string(b), err
	}
	switch t.Kind() {
	case reflect.String:
		return readable(v.String()), nil
	case reflect.Bool:
		return strconv.FormatBool(v.Bool()), nil
	case reflect.Float64:
		f := v.Float()
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return "", fmt.Errorf("%v is not a number that can be written", f)
		}
		if a := math.Abs(f); a != 0 && (a < 1e-6 || a >= 1e21) {
			return strconv.FormatFloat(f, 'g', -1, 64), nil
		}
		return strconv.FormatFloat(f, 'f', -1, 64), nil
	}
	return strconv.FormatInt(v.Int(), 10), nil
}

// readable puts the sign for an unreadable letter where bytes are no UTF-8, as the journal's JSON does.
func readable(s string) string { return string([]rune(s)) }

// marked adds two quotation marks to a text that consists of none but such.
func marked(s string) string {
	if strings.Trim(s, `"`) == "" {
		return s + `""`
	}
	return s
}

// unmarked takes them off again.
func unmarked(s string) string {
	if len(s) >= 2 && strings.Trim(s, `"`) == "" {
		return s[2:]
	}
	return s
}

// decodeCell reads a cell into an addressable value. An error is a sentence without a place.
func decodeCell(v reflect.Value, cell string) error {
	t := v.Type()
	switch {
	case t.Kind() == reflect.Pointer:
		if cell == "" {
			v.SetZero()
			return nil
		}
		p := reflect.New(t.Elem())
		if err := decodeScalar(p.Elem(), unmarked(cell)); err != nil {
			return err
		}
		v.Set(p)
		return nil
	case t.Kind() == reflect.Slice && !isText(t):
		if cell == "" {
			v.SetZero()
			return nil
		}
		items := splitItems(unmarked(cell))
		list := reflect.MakeSlice(t, len(items), len(items))
		for i, s := range items {
			if err := decodeScalar(list.Index(i), s); err != nil {
				return err
			}
		}
		v.Set(list)
		return nil
	case cell == "":
		v.SetZero()
		return nil
	}
	return decodeScalar(v, cell)
}

func splitItems(s string) []string {
	var out []string
	var item strings.Builder
	escaped := false
	for _, r := range s {
		switch {
		case escaped:
			item.WriteRune(r)
			escaped = false
		case r == '\\':
			escaped = true
		case r == ';':
			out = append(out, item.String())
			item.Reset()
		default:
			item.WriteRune(r)
		}
	}
	return append(out, item.String())
}

func decodeScalar(v reflect.Value, s string) error {
	t := v.Type()
	if isText(t) {
		if s == "" {
			v.SetZero()
			return nil
		}
		if err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(s)); err != nil {
			if t == idType {
				return fmt.Errorf("%s is not an id; an id looks like 0197f3c2-5a31-7c44-9f0e-3b6a1d2c4e5f", quoted(s))
			}
			return err
		}
		return nil
	}
	switch t.Kind() {
	case reflect.String:
		v.SetString(s)
		return nil
	case reflect.Bool:
		switch strings.ToLower(s) {
		case "true":
			v.SetBool(true)
		case "false":
			v.SetBool(false)
		default:
			return fmt.Errorf("%s is neither true nor false; write true, or leave it empty", quoted(s))
		}
		return nil
	case reflect.Float64:
		f, err := strconv.ParseFloat(s, 64)
		if err != nil || math.IsNaN(f) || math.IsInf(f, 0) {
			return fmt.Errorf("%s is not a number; write it with a point, such as 14.5", quoted(s))
		}
		v.SetFloat(f)
		return nil
	}
	n, err := strconv.ParseInt(s, 10, t.Bits())
	if err != nil {
		return fmt.Errorf("%s is not a whole number", quoted(s))
	}
	v.SetInt(n)
	return nil
}

// quoted shows what somebody wrote inside a sentence, cut to a readable length.
func quoted(s string) string {
	const most = 40 // letters; a longer one hides the sentence
	r := []rune(strings.Join(strings.Fields(s), " "))
	if len(r) > most {
		r = append(r[:most], '…')
	}
	return "“" + string(r) + "”"
}
