package engine

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"injtab/fit/diag"
)

// mostBytes is many times what all inputs with remarks take. The YAML parser's time
// grows with the square of what is nested.
const mostBytes = 32 << 10

// ReadFile reads an engine file: YAML, one line for each input, its key as Fields
// has it and its value as on the command line, such as
//
//	cylinders: 4
//	power: 200hp
//	duty: 80%
//
// A byte-order mark is skipped. Unknown and repeated keys, quoted numbers and
// values that can't be meant are errors of type diag.Note with the line; the
// message gives the column. name is the file's name in messages.
func ReadFile(r io.Reader, name string) (Inputs, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	switch {
	case err != nil:
		return Inputs{}, diag.Fail(diag.Place{File: name}, "engine_file", "can't be read: %v", err)
	case len(text) > mostBytes:
		return Inputs{}, diag.Fail(diag.Place{File: name}, "engine_file", "has more than %d kB, which no engine file needs: is it the right file?", mostBytes>>10)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		return Inputs{}, syntaxError(err, name)
	}
	d := decoder{name: name}
	if len(file.Docs) > 1 {
		begin := cmp.Or(file.Docs[1].Start, file.Docs[0].End) // the end need not be followed by a start
		return Inputs{}, d.fail(begin, "a second document begins here: an engine file holds one")
	}
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		if err := d.mapping(doc.Body); err != nil {
			return Inputs{}, err
		}
	}
	return d.in, nil
}

// syntaxError gives the parser's complaint its place.
func syntaxError(err error, name string) error {
	var syntax yaml.Error
	if !errors.As(err, &syntax) {
		return diag.Fail(diag.Place{File: name}, "engine_file", "is not a YAML file: %v", err)
	}
	return decoder{name: name}.fail(syntax.GetToken(), "this can't be read as YAML (%s): write one input a line, such as power: 200hp", plainly(syntax.GetMessage()))
}

// plainly puts words for people in place of the parser's, where mistakes are usual.
func plainly(message string) string {
	switch {
	case strings.HasPrefix(message, "mapping key"):
		return "the input was given before"
	case strings.Contains(message, "'\t'"), strings.Contains(message, "'\\t'"):
		return "a tab stands here, where only blanks may stand"
	}
	return message
}

type decoder struct {
	name string
	in   Inputs
}

func (d decoder) fail(at *token.Token, format string, args ...any) error {
	message := fmt.Sprintf(format, args...)
	if at == nil || at.Position == nil {
		return diag.Fail(diag.Place{File: d.name}, "engine_file", "%s", message)
	}
	place := diag.Place{File: d.name, Line: at.Position.Line}
	return diag.Fail(place, "engine_file", "column %d: %s", at.Position.Column, message)
}

// mapping reads the key: value lines.
func (d *decoder) mapping(body ast.Node) error {
	m, ok := body.(ast.MapNode)
	if !ok {
		return d.fail(body.GetToken(), "expected one input a line, such as power: 200hp")
	}
	for it := m.MapRange(); it.Next(); {
		if err := d.entry(it.Key(), it.Value()); err != nil {
			return err
		}
	}
	return nil
}

func (d *decoder) entry(key, value ast.Node) error {
	at := key.GetToken()
	f, ok := FieldOf(at.Value)
	if !ok {
		return d.fail(at, "%q is not an input of an engine file%s", at.Value, suggestion(at.Value))
	}
	text, err := d.scalar(f, value)
	if err != nil {
		return err
	}
	if err := f.Set(&d.in, text); err != nil {
		return d.fail(value.GetToken(), "%s: %v", f.Key, err)
	}
	return nil
}

// scalar is the text of a value as it was written.
func (d *decoder) scalar(f Field, value ast.Node) (string, error) {
	at := value.GetToken()
	switch value.(type) {
	case *ast.IntegerNode, *ast.FloatNode, *ast.StringNode, *ast.InfinityNode, *ast.NanNode:
	case *ast.NullNode:
		return "", d.fail(at, "%s has no value: write one, or take the line out", f.Key)
	default:
		return "", d.fail(at, "%s: expected a single value, such as %s", f.Key, f.sample())
	}
	if f.bare && (at.Type == token.SingleQuoteType || at.Type == token.DoubleQuoteType) {
		return "", d.fail(at, "%s: %q is in quotation marks, which makes it a text: write the number without them", f.Key, at.Value)
	}
	return at.Value, nil
}

// sample is a value as it may be written.
func (f Field) sample() string {
	switch {
	case !f.bare:
		return "12" + f.Unit
	case f.Unit == "%":
		return "85%"
	}
	return "4"
}

// suggestion names the key that was most likely meant.
func suggestion(key string) string {
	best, least := "", min(3, len(key)/2+1)
	for _, f := range fields {
		if d := distance(key, f.Key); d < least {
			best, least = f.Key, d
		}
	}
	if best == "" {
		return ": see the list of inputs in the help of size"
	}
	return fmt.Sprintf(": did you mean %s?", best)
}

// distance is the number of letters to insert, delete or replace.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := diagonal
			if a[i-1] != b[j-1] {
				cost++
			}
			diagonal = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}

// WriteFile writes the inputs that are given as a file that ReadFile reads; each
// line ends in a remark that says what it is.
func WriteFile(w io.Writer, in Inputs) error {
	lines := yaml.MapSlice{}
	remarks := yaml.CommentMap{}
	for _, f := range fields {
		if v := f.value(in); v != nil {
			lines = append(lines, yaml.MapItem{Key: f.Key, Value: v})
			remarks["$."+f.Key] = []*yaml.Comment{yaml.LineComment(" " + f.About)}
		}
	}
	if len(lines) == 0 {
		return nil
	}
	return yaml.NewEncoder(w, yaml.WithComment(remarks)).Encode(lines)
}
