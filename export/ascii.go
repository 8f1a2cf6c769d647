package export

import (
	"fmt"
	"strings"
)

// spelled are the characters of our own sentences in plain ASCII.
var spelled = strings.NewReplacer(
	"±", "+/-", "µ", "u", "μ", "u", "°", "deg ", "·", "*", "×", "x", "–", "-", "—", "-", "−", "-", "…", "...",
	"≤", "<=", "≥", ">=", "≈", "~", "√", "sqrt ", "Ω", "ohm", "²", "^2", "³", "^3", "Δ", "delta ", "ρ", "rho", "λ", "lambda",
	"“", `"`, "”", `"`, "‘", "'", "’", "'", "\u00a0", " ", "\u202f", " ", "\u2009", " ", "→", "->",
)

// ascii spells what it can and shows other characters by their code.
func ascii(s string) string {
	if plainASCII(s) {
		return s
	}
	var b strings.Builder
	for _, r := range spelled.Replace(s) {
		if r < 0x80 {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, "<U+%04X>", r)
		}
	}
	return b.String()
}
