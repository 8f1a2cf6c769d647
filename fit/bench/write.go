package bench

import (
	"bufio"
	"encoding/csv"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// WriteCSV writes a sheet in the canonical long form: setup lines, a header, one
// reading a row, units ms, kPa, V, ml or g, °C. Reading it gives the same setup and
// readings to the last bit; places, name and hash are those of the new file. Texts
// lose blanks at both ends. The error is about the writer, or about a text that no
// CSV file can hold.
func WriteCSV(w io.Writer, s Sheet) error {
	if err := writable(s); err != nil {
		return err
	}
	buffered := bufio.NewWriter(w)
	out := csv.NewWriter(buffered)
	for _, line := range setupLines(s.Setup) {
		if err := out.Write([]string{"# " + line}); err != nil {
			return err
		}
	}
	cols := columnsOf(s)
	cells := make([]string, len(cols))
	for i, c := range cols {
		cells[i] = c.header
	}
	if err := out.Write(cells); err != nil {
		return err
	}
	for _, r := range s.Readings.All() {
		for i, c := range cols {
			cells[i] = c.text(r)
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	return buffered.Flush()
}

// writable refuses what would not come back as it was.
func writable(s Sheet) error {
	bad := func(text string) bool {
		return !utf8.ValidString(text) || strings.ContainsAny(text, "\x00\r")
	}
	for _, text := range []string{s.Setup.Title, s.Setup.Driver, s.Setup.Fluid.Name} {
		if bad(text) || strings.Contains(text, "\n") {
			return diag.Fail(diag.Place{File: s.File}, "unwritable", "the setup's text %q has a line break or a byte that no text has", text)
		}
	}
	weighed := s.Readings.any(func(r Reading) bool { return r.Mass > 0 })
	for _, r := range s.Readings.All() {
		if slices.ContainsFunc([]string{r.Injector, r.Run, r.Slot, r.Vessel, r.Note}, bad) {
			return diag.Fail(s.At(r), "unwritable", "a text of this reading has a carriage return or a byte that no text has")
		}
		if weighed && r.Mass <= 0 && r.Volume > 0 {
			return diag.Fail(s.At(r), "unwritable", "some readings are weighed and this one is not: a bench file holds one or the other")
		}
	}
	return nil
}

// setupLines gives "key = value" for what is known.
func setupLines(s Setup) []string {
	var lines []string
	put := func(key, value string) { lines = append(lines, key+" = "+value) }
	text := func(key, value string) {
		if value != "" {
			put(key, protect(value))
		}
	}
	number := func(key string, si float64) {
		if q, ok := quantityKey(key); ok {
			put(key, q.scale.write(si))
		}
	}
	known := func(key string, si float64) {
		if si > 0 {
			number(key, si)
		}
	}
	text("title", s.Title)
	if s.HasFluid {
		name, density := fluidAsGiven(s.Fluid)
		text("fluid", name)
		known("density_kg_m3", float64(density))
	}
	number("rated_pressure_kpa", float64(s.RatedPressure))
	if s.Division > 0 {
		put("division_ml", byHeader["division_ml"].scale.write(float64(s.Division)))
	}
	known("vessel_tolerance_ml", float64(s.VesselLimit))
	number("pressure_uncertainty_pct", float64(s.PressureLimit))
	number("voltage_uncertainty_pct", float64(s.VoltageLimit))
	number("timer_uncertainty_us", float64(s.TimerLimit))
	text("driver", s.Driver)
	known("clamp_v", float64(s.Clamp))
	known("wiring_drop_v", float64(s.WiringDrop))
	return lines
}

// fluidAsGiven tells what of a fluid has to be written to find it again.
func fluidAsGiven(f fluid.Fluid) (name string, density unit.Density) {
	known, err := fluid.Lookup(f.Name)
	if err == nil && sameBits(float64(known.Density), float64(f.Density)) && sameBits(float64(known.RefTemp), float64(f.RefTemp)) {
		return f.Name, 0
	}
	if custom, err := fluid.Custom(f.Density); err == nil && custom.Name == f.Name {
		return "", f.Density
	}
	return f.Name, f.Density
}

func sameBits(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

// An outColumn writes one field of a reading.
type outColumn struct {
	header string
	text   func(Reading) string
}

// columnsOf lists the columns that a sheet needs: the required ones, and those of
// which some reading has a value.
func columnsOf(s Sheet) []outColumn {
	var cols []outColumn
	number := func(header string, get func(Reading) float64) {
		sc := byHeader[header].scale
		cols = append(cols, outColumn{header, func(r Reading) string { return sc.write(get(r)) }})
	}
	orEmpty := func(header string, get func(Reading) float64) {
		sc := byHeader[header].scale
		cols = append(cols, outColumn{header, func(r Reading) string {
			if get(r) > 0 {
				return sc.write(get(r))
			}
			return ""
		}})
	}
	text := func(header string, get func(Reading) string) {
		if s.Readings.any(func(r Reading) bool { return get(r) != "" }) {
			cols = append(cols, outColumn{header, func(r Reading) string { return protect(get(r)) }})
		}
	}
	optional := func(header string, get func(Reading) float64) {
		if s.Readings.any(func(r Reading) bool { return get(r) > 0 }) {
			orEmpty(header, get)
		}
	}
	cols = append(cols, outColumn{"injector", func(r Reading) string { return protect(r.Injector) }})
	text("run", func(r Reading) string { return r.Run })
	text("slot", func(r Reading) string { return r.Slot })
	number("pulse_ms", func(r Reading) float64 { return float64(r.Pulse) })
	number("period_ms", func(r Reading) float64 { return float64(r.Period) })
	cols = append(cols, outColumn{"shots", func(r Reading) string { return shotsText(r.Shots) }})
	if s.Readings.any(func(r Reading) bool { return r.Mass > 0 }) {
		number("mass_g", func(r Reading) float64 { return float64(r.Mass) })
	} else {
		number("volume_ml", func(r Reading) float64 { return float64(r.Volume) })
	}
	number("pressure_kpa", func(r Reading) float64 { return float64(r.Pressure) })
	orEmpty("voltage_v", func(r Reading) float64 { return float64(r.Voltage) })
	optional("temp_c", func(r Reading) float64 { return float64(r.Temp) })
	if s.Setup.Division <= 0 {
		optional("division_ml", func(r Reading) float64 { return float64(r.Division) })
	}
	text("vessel", func(r Reading) string { return r.Vessel })
	optional("resistance_ohm", func(r Reading) float64 { return float64(r.Resistance) })
	text("note", func(r Reading) string { return r.Note })
	return cols
}

// shotsText writes shots so that a fraction can't be taken for thousands.
func shotsText(n float64) string {
	text := strconv.FormatFloat(n, 'f', -1, 64)
	if d, _ := parseDecimal(text); d.likeThousands() {
		text += "0"
	}
	return text
}
