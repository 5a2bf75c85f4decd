package web

import (
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// MaxBody is the largest request that is read, in bytes.
const MaxBody = 8 << 20

// errTooBig is a request above MaxBody.
var errTooBig = &statusError{http.StatusRequestEntityTooLarge, "That is more than 8 MB, which is more than this page takes. Nothing was changed. Send a smaller file, or part it in two."}

// readForm reads the form that was sent, if any.
func (v *visit) readForm() error {
	if v.r.Method != http.MethodPost {
		return nil
	}
	v.r.Body = http.MaxBytesReader(v.w, v.r.Body, MaxBody)
	err := v.r.ParseForm() // ParseMultipartForm calls it too, but hides its error when the form has one part
	if err == nil {
		if err = v.r.ParseMultipartForm(MaxBody); errors.Is(err, http.ErrNotMultipart) {
			err = nil
		}
	}
	var big *http.MaxBytesError
	switch {
	case errors.As(err, &big):
		return errTooBig
	case err != nil:
		return &statusError{http.StatusBadRequest, "The form came in broken, and nothing was changed. Go back and send it again."}
	}
	if id, err := uuid.Parse(v.r.PostFormValue("once")); err == nil && id.Version() == 7 {
		v.once = id
	}
	if v.sent != nil {
		return v.backThen()
	}
	return nil
}

// formError says that a form has errors; they stand in the form, beside their fields.
type formError struct{ f *form }

func (e *formError) Error() string {
	for _, m := range e.f.Errors {
		return m.Message
	}
	return "the form has errors"
}

// fieldError is what is wrong with one field, or with the form as a whole when Field is "".
type fieldError struct{ Field, Message string }

// form reads the values of a form, collects what is wrong with them, and fills the form in when it is shown again.
//
// A field is named as the column of the entry's body (aviary.Error.Field), so that a refusal from the journal's door lands
// beside it.
type form struct {
	ID     string // begins the ids of its controls, when a page has several forms with the same fields
	Values url.Values
	Errors []fieldError
}

// form returns the form that was sent; on a page that is only shown, an empty one.
func (v *visit) form() *form {
	if v.f == nil {
		v.f = &form{Values: v.r.PostForm}
		if v.f.Values == nil {
			v.f.Values = url.Values{}
		}
	}
	return v.f
}

// blank returns a form with values to begin with, for a page that shows one: name, value, name, value.
func blank(pairs ...string) *form {
	f := &form{Values: url.Values{}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Values.Add(pairs[i], pairs[i+1])
	}
	return f
}

// wrong notes what is wrong with a field.
func (f *form) wrong(field, format string, args ...any) {
	f.Errors = append(f.Errors, fieldError{field, capital(fmt.Sprintf(format, args...))})
}

// err returns nil when nothing is wrong so far.
func (f *form) err() error {
	if len(f.Errors) == 0 {
		return nil
	}
	return &formError{f}
}

// text returns a field without the space around it.
func (f *form) text(name string) string {
	s := strings.TrimSpace(f.Values.Get(name))
	if !utf8.ValidString(s) {
		f.wrong(name, "the text has letters that cannot be read; type it again")
		return ""
	}
	return s
}

// textp returns nil for an empty field.
func (f *form) textp(name string) *string {
	if s := f.text(name); s != "" {
		return &s
	}
	return nil
}

// words returns every ticked or given value of a field.
func (f *form) words(name string) []string {
	var out []string
	for _, s := range f.Values[name] {
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// tick reports whether a box is ticked.
func (f *form) tick(name string) bool { return f.Values.Get(name) != "" }

// intp returns a whole number, or nil when the field is empty.
func (f *form) intp(name string) *int {
	s := f.text(name)
	if s == "" {
		return nil
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		f.wrong(name, "%q is not a whole number", short(s))
		return nil
	}
	return &n
}

// int returns a whole number, 0 when the field is empty.
func (f *form) int(name string) int {
	if n := f.intp(name); n != nil {
		return *n
	}
	return 0
}

// floatp returns a number, or nil when the field is empty. A comma is read as a point.
func (f *form) floatp(name string) *float64 {
	s := f.text(name)
	if s == "" {
		return nil
	}
	x, err := strconv.ParseFloat(strings.Replace(strings.Replace(s, ",", ".", 1), "−", "-", 1), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		f.wrong(name, "%q is not a number", short(s))
		return nil
	}
	return &x
}

// float returns a number, 0 when the field is empty.
func (f *form) float(name string) float64 {
	if x := f.floatp(name); x != nil {
		return *x
	}
	return 0
}

// date returns a day, 0 when the field is empty.
func (f *form) date(name string) aviary.Date {
	s := f.text(name)
	if s == "" {
		return 0
	}
	d, err := aviary.ParseDate(s)
	if err != nil {
		f.wrong(name, "%v", err)
	}
	return d
}

// clock returns a time of day, 0 when the field is empty.
func (f *form) clock(name string) aviary.Clock {
	s := f.text(name)
	if s == "" {
		return 0
	}
	c, err := aviary.ParseClock(s)
	if err != nil {
		f.wrong(name, "%v", err)
	}
	return c
}

// id returns an id, zero when the field is empty.
func (f *form) id(name string) aviary.ID {
	ids := f.ids(name)
	if len(ids) == 0 {
		return aviary.ID{}
	}
	return ids[0]
}

// ids returns every id of a field.
func (f *form) ids(name string) []aviary.ID {
	var out []aviary.ID
	for _, s := range f.words(name) {
		id, err := uuid.Parse(s)
		if err != nil {
			f.wrong(name, "choose from the list; %q is not on it", short(s))
			continue
		}
		out = append(out, id)
	}
	return out
}

// species returns the slug of a species given by any of its names, "" when the field is empty.
func (f *form) species(name string) string {
	s := f.text(name)
	if s == "" {
		return ""
	}
	p, err := species.Find(s)
	if err != nil {
		f.wrong(name, "%v", err)
		return ""
	}
	return p.Slug
}

// one returns a field that must be one of the words, or empty.
func (f *form) one(name string, words ...string) string {
	s := f.text(name)
	if s != "" && !slices.Contains(words, s) {
		f.wrong(name, "%q is not among the choices: %s", short(s), strings.Join(words, ", "))
		return ""
	}
	return s
}

// refused puts a refusal beside its field. It reports false for what no form can mend.
func (f *form) refused(err error) bool {
	var mine *formError
	if errors.As(err, &mine) {
		return mine.f == f
	}
	var at *aviary.Error
	if !errors.As(err, &at) || at.Code == aviary.Denied || at.Code == aviary.TooNew {
		return false
	}
	field := at.Field
	if strings.HasPrefix(field, "ring_") && !f.Values.Has(field) && f.Values.Has("ring") {
		field = "ring" // typed in one, as it is stamped
	}
	f.wrong(field, "%s", at.Message)
	return true
}

// save writes the entries unless the form has errors.
func (v *visit) save(f *form, entries ...*aviary.Entry) error {
	if err := f.err(); err != nil {
		return err
	}
	return v.write(entries...)
}

// retry shows a refused form again, filled in, with the message beside its field: status 422. What no form can mend it returns.
func (v *visit) retry(f *form, err error, show func(*visit, *form) error) error {
	if !f.refused(err) {
		return err
	}
	if v.sent != nil {
		return &formError{f}
	}
	v.status = http.StatusUnprocessableEntity
	return show(v, f)
}

func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

func capital(s string) string {
	for i, r := range s {
		if i == 0 {
			return strings.ToUpper(string(r)) + s[utf8.RuneLen(r):]
		}
	}
	return s
}

// ---- what templates see ----

// Value returns what stands in a field.
func (f *form) Value(name string) string { return f.Values.Get(name) }

// Has reports whether a value is chosen.
func (f *form) Has(name, value string) bool { return slices.Contains(f.Values[name], value) }

// Error returns what is wrong with a field, "" when nothing is.
func (f *form) Error(name string) string {
	var all []string
	for _, e := range f.Errors {
		if e.Field == name {
			all = append(all, e.Message)
		}
	}
	return strings.Join(all, " ")
}

// Anchor is the id of a field's control.
func (f *form) Anchor(name string) string {
	if f.ID != "" {
		return f.ID + "-" + name
	}
	return name
}

// field is one control with its label, as the parts "field", "choice" and "tick" draw it.
type field struct {
	Name, ID, Label, Type, Value string
	Error                        string
	Help                         string            // a line under the label
	Opt                          string            // after the label, smaller: "if worn"
	Unit                         string            // after the control
	Size                         string            // "short", "mid", or "" for the whole width
	Attrs                        template.HTMLAttr // further attributes, such as min and step
	Options                      []option
	Required, Wide, Check        bool
	Rows                         int
}

// option is one choice.
type option struct {
	Value, Label string
	Chosen       bool
}

func (f *form) field(kind, name, label string) field {
	return field{Name: name, ID: f.Anchor(name), Label: label, Type: kind, Value: f.Value(name), Error: f.Error(name)}
}

// Text, Number, Decimal, Date, Time, Area and Secret are controls for the part "field"; Number takes whole numbers.
func (f *form) Text(name, label string) field { return f.field("text", name, label) }

// Number is a control for a whole number.
func (f *form) Number(name, label string) field {
	x := f.field("text", name, label)
	x.Attrs, x.Size = ` inputmode="numeric"`, "short"
	return x
}

// Decimal is a control for a number with a point.
func (f *form) Decimal(name, label string) field {
	x := f.field("text", name, label)
	x.Attrs, x.Size = ` inputmode="decimal"`, "short"
	return x
}

// Date is a control for a day.
func (f *form) Date(name, label string) field {
	x := f.field("date", name, label)
	x.Size = "mid"
	return x
}

// Time is a control for a time of day.
func (f *form) Time(name, label string) field {
	x := f.field("time", name, label)
	x.Size = "short"
	return x
}

// Area is a control for several lines.
func (f *form) Area(name, label string) field {
	x := f.field("area", name, label)
	x.Rows = 3
	return x
}

// Secret is a control for a passphrase; it is never filled in again.
func (f *form) Secret(name, label string) field {
	x := f.field("password", name, label)
	x.Value = ""
	return x
}

// Phone is a control for a telephone number.
func (f *form) Phone(name, label string) field {
	x := f.field("tel", name, label)
	x.Size = "mid"
	return x
}

// File is a control for a file; its form needs enctype="multipart/form-data".
func (f *form) File(name, label string) field {
	x := f.field("file", name, label)
	x.Value = ""
	return x
}

// Select is a drop-down list; the part "field" draws it. Radio is a row of choices; the part "choice" draws it.
func (f *form) Select(name, label string, options []option) field {
	x := f.field("select", name, label)
	x.Options = f.chosen(name, options)
	return x
}

// Radio is a row of choices of which one holds.
func (f *form) Radio(name, label string, options []option) field {
	x := f.field("radio", name, label)
	x.Options = f.chosen(name, options)
	return x
}

// Ticks is a row of choices of which several may hold; the part "choice" draws it.
func (f *form) Ticks(name, label string, options []option) field {
	x := f.field("checkbox", name, label)
	x.Options = f.chosen(name, options)
	return x
}

// Tick is one box to tick; the part "tick" draws it.
func (f *form) Tick(name, label string) field {
	x := f.field("checkbox", name, label)
	x.Check = f.Value(name) != ""
	return x
}

func (f *form) chosen(name string, options []option) []option {
	out := slices.Clone(options)
	if _, sent := f.Values[name]; !sent {
		return out
	}
	for i := range out {
		out[i].Chosen = f.Has(name, out[i].Value)
	}
	return out
}

// Hint adds a line under the label.
func (x field) Hint(s string) field { x.Help = s; return x }

// If adds a word or two after the label, smaller: "if worn".
func (x field) If(s string) field { x.Opt = s; return x }

// Per puts a unit after the control.
func (x field) Per(unit string) field { x.Unit = unit; return x }

// Mid makes a control as wide as a name.
func (x field) Mid() field { x.Size = "mid"; return x }

// Short makes a control as wide as a number.
func (x field) Short() field { x.Size = "short"; return x }

// Must marks a field that has to be filled in.
func (x field) Must() field { x.Required = true; return x }

// Full lets a field take both columns of a form in two.
func (x field) Full() field { x.Wide = true; return x }

// In makes one control's id differ from those of the same field in other forms of the page; form.ID does so for all of them.
func (x field) In(form string) field { x.ID = form + "-" + x.Name; return x }

// Complete says what a browser may fill in, such as "username".
func (x field) Complete(what string) field { x.Attrs += attr("autocomplete", what); return x }

// Between sets the least and most that a browser's own control offers.
func (x field) Between(least, most string) field {
	x.Attrs += attr("min", least) + attr("max", most)
	return x
}

func attr(name, value string) template.HTMLAttr {
	return template.HTMLAttr(" " + name + `="` + template.HTMLEscapeString(value) + `"`)
}

// words as options, each its own label.
func options(words ...string) []option {
	out := make([]option, len(words))
	for i, w := range words {
		out[i] = option{Value: w, Label: capital(w)}
	}
	return out
}
