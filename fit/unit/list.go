package unit

import (
	"fmt"
	"strings"
)

// ParseList reads quantities with commas between them, such as "200,250,300kPa":
// an item without a unit takes that of the last one. The error is a sentence
// without the place.
func (k Kind[Q]) ParseList(text string) ([]Q, error) {
	items := strings.Split(text, ",")
	_, last := split(items[len(items)-1])
	if last == "" {
		return nil, fmt.Errorf("%q has no unit: write it behind the last value, %s%s, or another of %s", text, text, k.Units[0].Symbol, k.Symbols())
	}
	out := make([]Q, len(items))
	for i, item := range items {
		if _, symbol := split(item); symbol == "" {
			item += last
		}
		q, err := k.Parse(item)
		if err != nil {
			return nil, fmt.Errorf("value %d of the list: %w", i+1, err)
		}
		out[i] = q
	}
	return out, nil
}
