// Package bench reads bench files, long or wide, CSV or XLSX, into readings and
// judges what was written down: each reading and each injector.
//
//	file ─► Read ─► Sheet ─► Check ─► Checked
//
// Read takes a file at its word or refuses it: columns, units, decimal signs and
// believable values. Check holds the readings against each other, by what the
// injectors have in common and by each one's own line, and leaves out those that
// can only be slips. It fits no model of an injector; its picture of the family is
// made of medians, so that a quarter of junk does not move it.
package bench

import (
	"cmp"

	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A Reading is one line of the notebook: an injector, a condition, what it delivered.
type Reading struct {
	Injector   string
	Pulse      unit.Time // commanded on-time; equal to Period when held open, 0 in a leak test
	Period     unit.Time
	Shots      float64     // number of pulses; Duration / Period where the duration was written
	Volume     unit.Volume // total delivered; a mass is converted with the bench fluid's density
	Mass       unit.Mass   // the same as weighed; 0 where a volume was read
	Pressure   unit.Pressure
	Voltage    unit.Voltage
	Temp       unit.Temperature // 0: not written
	Run        string           // "": not written
	Slot       string           // position on the rail; "": not written
	Vessel     string           // measuring vessel that was used; "": not written
	Note       string           // a remark
	Division   unit.Volume      // smallest division of the vessel or step of the scale; 0: not known
	Resistance unit.Resistance  // of the coil; 0: not written
	Line       int              // line or row of the file, from 1
}

// PerShot is the delivered volume of one pulse.
func (r Reading) PerShot() unit.Volume { return r.Dose().PerShot() }

// Static tells whether the injector was held open for the whole reading.
func (r Reading) Static() bool { return r.Dose().Static() }

// Leak tells whether the injector was under pressure without pulses.
func (r Reading) Leak() bool { return r.Dose().Leak() }

// Duration is how long the reading ran.
func (r Reading) Duration() unit.Time { return unit.Time(r.Shots * float64(r.Period)) }

// A Setup is what holds for all readings of a file. The uncertainties are limits
// of error, so that a standard uncertainty is the value ÷ √3 (JCGM 100:2008, 4.3.7,
// clause from memory).
type Setup struct {
	Title         string
	Fluid         fluid.Fluid // zero where neither fluid nor density was given
	HasFluid      bool
	Temp          unit.Temperature // bench temperature: the median of those written, else 0
	RatedPressure unit.Pressure    // at which flows are quoted; 300 kPa unless given
	Division      unit.Volume      // 0: not known
	VesselLimit   unit.Volume      // vessel_tolerance_ml; 0: not known
	PressureLimit unit.Ratio       // of the gauge; 0.5 % unless given
	VoltageLimit  unit.Ratio       // of the voltmeter; 0.4 % unless given
	TimerLimit    unit.Time        // of the pulse; 5 µs unless given
	Driver        string
	Clamp         unit.Voltage
	WiringDrop    unit.Voltage
}

// A Sheet is a bench file as read: every number finite and in SI, nothing judged.
type Sheet struct {
	File     string // name as the user gave it
	Sheet    string // of a workbook, else ""
	SHA256   string // of the file's bytes, hexadecimal
	Wide     bool
	Amounts  string            // header of the column of amounts; in wide form each injector has its own:
	Headers  map[string]string // by injector, where it is not the name
	Setup    Setup
	Readings Readings
	Missing  int         // cells of a wide file, or rows of a prepared one, that were left empty
	Notes    []diag.Note // warnings of the reading, which Check passes on
}

// At is the place of a reading's amount, for notes.
func (s Sheet) At(r Reading) diag.Place {
	column := s.Amounts
	if s.Wide {
		column = cmp.Or(s.Headers[r.Injector], r.Injector)
	}
	return diag.Place{File: s.File, Sheet: s.Sheet, Line: r.Line, Column: column}
}

// at is that of reading k.
func (s Sheet) at(k int) diag.Place { return s.At(s.Readings.At(k)) }
