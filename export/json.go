package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// JSON writes v as one indented document with a line end, nothing before it is
// known to be whole. A value that JSON has no form for, such as NaN, is a mistake
// of the program and an error. Texts stay as they are: "<" is not escaped.
func JSON(w io.Writer, v any) error {
	data, err := document(v)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

// document is v as JSON writes it.
func document(v any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("this answer has no JSON form, which is a mistake of the program: %w", err)
	}
	return escapeHidden(buf.Bytes()), nil
}

// JSONFrom writes v, an object, with the program's version and the inputs before its
// own keys: made_by and made_from.
func JSONFrom(w io.Writer, v any, inputs []Input) error {
	body, err := document(v)
	if err != nil {
		return err
	}
	head, err := document(struct {
		By   ToolInfo `json:"made_by"`
		From []Input  `json:"made_from"`
	}{ToolInfo{Tool, Version}, append([]Input{}, inputs...)})
	if err != nil {
		return err
	}
	if own, isObject := bytes.CutPrefix(body, []byte("{\n")); isObject {
		head = append(bytes.TrimSuffix(head, []byte("\n}\n")), ",\n"...)
		if _, err := w.Write(head); err != nil {
			return err
		}
		body = own
	}
	_, err = w.Write(body)
	return err
}

// escapeHidden writes characters that a terminal would obey, or that have no picture,
// as JSON's escapes, which leave the text the same to a program.
func escapeHidden(data []byte) []byte {
	if bytes.IndexFunc(data, unseen) < 0 {
		return data
	}
	var out []byte
	for _, r := range string(data) {
		if !unseen(r) {
			out = utf8.AppendRune(out, r)
			continue
		}
		for _, unit := range utf16.AppendRune(nil, r) {
			out = fmt.Appendf(out, `\u%04x`, unit)
		}
	}
	return out
}

func unseen(r rune) bool { return r >= 0x7f && hidden(r) }
