package export

import (
	"fmt"
	"image/color"
)

// A tone is a colour with a name: pictures in files use the colour, pictures in a
// page the name, so that the page can choose light or dark.
type tone struct {
	color.NRGBA
	name string
}

func newTone(name string, rgb uint32) tone {
	return tone{color.NRGBA{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 255}, name}
}

// faint is the same tone let through by so much of 255.
func (t tone) faint(alpha uint8) tone { t.A = alpha; return t }

func (t tone) hex() string { return fmt.Sprintf("#%02x%02x%02x", t.R, t.G, t.B) }

// The tones of charts. page.css gives each a value for light and one for dark.
var (
	paperTone = newTone("paper", 0xffffff)
	inkTone   = newTone("ink", 0x1c2126)
	ruleTone  = newTone("rule", 0xd5d9dd)
	limitTone = newTone("limit", 0xa3282b)

	seriesTones = []tone{
		newTone("s1", 0x1f4e79), newTone("s2", 0xb45309), newTone("s3", 0x0f766e), newTone("s4", 0x6d4aa3),
		newTone("s5", 0x806200), newTone("s6", 0xb0305c), newTone("s7", 0x475569), newTone("s8", 0x2468ad),
	}
)
