package bench

import "strings"

// otherwise finds the column that a header names but for blanks, hyphens or brackets:
// "Pressure (kPa)".
func otherwise(header string) (string, bool) {
	words := strings.FieldsFunc(strings.ToLower(header), func(r rune) bool { return strings.ContainsRune(" _-.()[],/", r) })
	name := strings.ReplaceAll(strings.Join(words, "_"), "µ", "u")
	_, ok := byHeader[name]
	return name, ok
}

// everyday are words that people write for a column.
var everyday = map[string]field{
	"cylinder": injector, "number": injector, "no": injector, "nr": injector, "id": injector, "serial": injector, "name": injector,
	"on time": pulse, "width": pulse, "pulse width": pulse, "ms": pulse, "us": pulse, "hz": frequency, "cycle": period,
	"cycles": shots, "counts": shots, "pulses": shots, "injections": shots, "strokes": shots,
	"time": duration, "seconds": duration, "minutes": duration,
	"amount": volume, "delivered": volume, "ml": volume, "cc": volume, "weight": mass, "g": mass, "grams": mass,
	"kpa": pressure, "bar": pressure, "psi": pressure, "rail": pressure, "volts": voltage, "v": voltage, "supply": voltage, "battery": voltage,
	"temperature": temp, "position": slot, "test": run, "glass": vessel, "ohm": resistance, "ohms": resistance,
	"remark": note, "remarks": note, "comment": note, "comments": note,
}

// An other is a quantity that is none of the columns but tells of one: its numbers
// have to be turned into that of the column, so renaming alone would be wrong.
type other struct {
	begins string
	meant  field
	tell   string
}

var others = []other{
	{"rpm", period, "is no column of a bench file: write the time from one pulse to the next, period_ms, which is 120000 / rpm for one pulse in two turns"},
	{"speed", period, "is no column of a bench file: write the time from one pulse to the next, period_ms, which is 120000 / rpm for one pulse in two turns"},
	{"duty", pulse, "is no column of a bench file: write the pulse itself, pulse_ms, which is the duty times the period"},
	{"flow_ml_min", volume, "is no column of a bench file: write what was delivered in the whole reading, volume_ml, and the shots or the duration"},
	{"flow_cc_min", volume, "is no column of a bench file: write what was delivered in the whole reading, volume_ml, and the shots or the duration"},
	{"pressure_abs", pressure, "is no column of a bench file: write the pressure above that at the nozzle, pressure_kpa; on an open bench that is the absolute pressure less the air's"},
}

// another finds the quantity that a header names in the place of a column's.
func another(header string) (other, bool) {
	for _, o := range others {
		if strings.HasPrefix(strings.ToLower(header), o.begins) {
			return o, true
		}
	}
	return other{}, false
}
