package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
)

// JSON writes v as one indented document with a line end, nothing before it is
// known to be whole. A value that JSON has no form for, such as NaN, is a mistake
// of the program and an error. Texts stay as they are: "<" is not escaped.
func JSON(w io.Writer, v any) error {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("this answer has no JSON form, which is a mistake of the program: %w", err)
	}
	_, err := w.Write(buf.Bytes())
	return err
}
