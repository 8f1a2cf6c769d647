package bench

import (
	"fmt"
	"slices"
	"strings"

	"injtab/fit/unit"
)

// A field is what a column of a bench file holds.
type field uint8

const (
	injector field = iota
	pulse
	period
	frequency
	shots
	duration
	volume
	mass
	pressure
	voltage
	temp
	run
	slot
	division
	vessel
	resistance
	note
	fields // how many there are
)

// A kind is a field's name without its unit and the units it is read in.
type kind struct {
	name   string
	scales []scale // none: a text, or a plain number
	text   bool
}

var kinds = [fields]kind{
	injector:   {name: "injector", text: true},
	pulse:      {name: "pulse", scales: scales(unit.Times, "_ms", "_us")},
	period:     {name: "period", scales: scales(unit.Times, "_ms", "_us")},
	frequency:  {name: "frequency", scales: scales(unit.Frequencies, "_hz")},
	shots:      {name: "shots"},
	duration:   {name: "duration", scales: scales(unit.Times, "_s", "_min")},
	volume:     {name: "volume", scales: scales(unit.Volumes, "_ml", "_cc")},
	mass:       {name: "mass", scales: massScales},
	pressure:   {name: "pressure", scales: scales(unit.Pressures, "_kpa", "_bar", "_psi")},
	voltage:    {name: "voltage", scales: scales(unit.Voltages, "_v")},
	temp:       {name: "temp", scales: scales(unit.Temperatures, "_c", "_f")},
	run:        {name: "run", text: true},
	slot:       {name: "slot", text: true},
	division:   {name: "division", scales: slices.Concat(scales(unit.Volumes, "_ml", "_cc"), massScales)},
	vessel:     {name: "vessel", text: true},
	resistance: {name: "resistance", scales: scales(unit.Resistances, "_ohm")},
	note:       {name: "note", text: true},
}

var massScales = masses(scales(unit.Masses, "_g", "_mg"))

// scales are the units that a column may have. The list is made once at the start: a
// suffix that no unit has is a mistake in this program, and panics.
func scales[Q ~float64](k unit.Kind[Q], suffixes ...string) []scale {
	list := make([]scale, len(suffixes))
	for i, suffix := range suffixes {
		u, ok := k.BySuffix(suffix)
		if !ok {
			panic("bench: " + k.Name + " has no unit " + suffix)
		}
		list[i] = newScale(u)
	}
	return list
}

func masses(list []scale) []scale {
	for i := range list {
		list[i].mass = true
	}
	return list
}

// headers are the ways of writing the column: pulse_ms, pulse_us.
func (k kind) headers() []string {
	if len(k.scales) == 0 {
		return []string{k.name}
	}
	list := make([]string, len(k.scales))
	for i, s := range k.scales {
		list[i] = k.name + s.suffix
	}
	return list
}

// choice lists the headers as a sentence does.
func (k kind) choice() string { return orList(k.headers()) }

// A match is how a header was understood.
type match struct {
	field field
	scale scale
	mass  bool
}

// lookup finds the column of a header; letter case is ignored.
func lookup(header string) (match, bool) {
	m, ok := byHeader[strings.ToLower(header)]
	return m, ok
}

var byHeader = func() map[string]match {
	all := map[string]match{}
	for f, k := range kinds {
		if len(k.scales) == 0 {
			all[k.name] = match{field: field(f), scale: scale{tens: true}}
		}
		for _, s := range k.scales {
			all[k.name+s.suffix] = match{field: field(f), scale: s, mass: s.mass}
		}
	}
	return all
}()

// bare finds the column whose name without a unit this is: "pulse".
func bare(header string) (field, bool) {
	header = strings.ToLower(header)
	for f, k := range kinds {
		if k.name == header {
			return field(f), true
		}
	}
	return fields, false
}

// stem finds the column that a header means but for a unit that does not fit:
// "pulse_s".
func stem(header string) (field, bool) {
	header = strings.ToLower(header)
	for f, k := range kinds {
		if rest, ok := strings.CutPrefix(header, k.name); ok && strings.HasPrefix(rest, "_") {
			return field(f), true
		}
	}
	return fields, false
}

// nearest finds the column name, with or without its unit, within two edits of a
// header.
func nearest(header string) (string, bool) {
	return nearestOf(strings.ToLower(header), columnNames, 2)
}

// A slip is a header that means a column but does not name it.
type slip struct {
	meant   field // fields: no telling
	code    string
	problem string
}

// findSlip tells what is wrong with a header that is no column: no unit, a unit that
// does not fit, or a letter or two.
func findSlip(header string) (slip, bool) {
	if f, ok := bare(header); ok {
		return slip{f, "unit", fmt.Sprintf("%s has no unit: write %s", header, kinds[f].choice())}, true
	}
	if o, ok := another(header); ok {
		return slip{o.meant, "unknown-column", fmt.Sprintf("%q %s", header, o.tell)}, true
	}
	if name, ok := otherwise(header); ok {
		return slip{byHeader[name].field, "unknown-column", fmt.Sprintf("%q is no column of a bench file: did you mean %s?", header, name)}, true
	}
	if f, ok := stem(header); ok {
		return slip{f, "unit", fmt.Sprintf("%q: this unit does not fit: write %s", header, kinds[f].choice())}, true
	}
	if f, ok := everyday[strings.ToLower(header)]; ok {
		return slip{f, "unknown-column", fmt.Sprintf("%q is no column of a bench file: did you mean %s?", header, kinds[f].choice())}, true
	}
	if name, ok := nearest(header); ok {
		f, isBare := bare(name)
		if !isBare {
			f = byHeader[name].field
		}
		return slip{f, "unknown-column", fmt.Sprintf("%q is no column of a bench file: did you mean %s?", header, name)}, true
	}
	return slip{meant: fields}, false
}

var columnNames = func() []string {
	var names []string
	for _, k := range kinds {
		names = append(names, k.headers()...)
		if len(k.scales) > 0 {
			names = append(names, k.name)
		}
	}
	return names
}()

// unitSuffix finds the unit that a header ends in.
func unitSuffix(header string) (string, bool) {
	header = strings.ToLower(header)
	for _, s := range unitSuffixes {
		if strings.HasSuffix(header, s) {
			return s, true
		}
	}
	return "", false
}

// unitSuffixes are all that a name of a quantity may end in, longest first.
var unitSuffixes = []string{"_ml_min", "_g_min", "_kg_m3", "_l_h", "_kpa", "_bar", "_psi", "_ohm",
	"_min", "_pct", "_ms", "_us", "_hz", "_ml", "_cc", "_mg", "_kw", "_s", "_v", "_l", "_g", "_c", "_f"}

// nearestOf finds the name that the fewest edits, at most limit, make of text.
func nearestOf(text string, names []string, limit int) (string, bool) {
	best, found := limit+1, ""
	for _, name := range names {
		if d := edits(text, name); d < best {
			best, found = d, name
		}
	}
	return found, best <= limit
}

// edits counts the letters to change, add or drop to make b of a (the distance of
// Levenshtein, 1966).
func edits(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i := range ra {
		diagonal := row[0]
		row[0] = i + 1
		for j := range rb {
			change := diagonal
			if ra[i] != rb[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(rb)]
}

func orList(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return strings.Join(names, "")
}
