package bench

import (
	"injtab/fit/diag"
	"injtab/fit/unit"
)

// Verdict is the judgement on an injector.
type Verdict uint8

const (
	Sound   Verdict = iota
	Outlier         // works, but outside its family
	Erratic         // repeats or residuals far above the reading noise
	Leaking         // delivers with no or too short a pulse
	Dead            // delivers nothing where its family delivers
)

func (v Verdict) String() string {
	return [...]string{"sound", "outlier", "erratic", "leaking", "dead"}[v]
}

// An Injector is one column of the notebook with its verdict.
type Injector struct {
	ID       string
	Verdict  Verdict
	Reasons  []string        // sentences
	Leak     unit.VolumeFlow // from leak tests; meaningful only if LeakTest
	LeakTest bool
}

// A Point is a condition that injectors are compared at. Readings belong to one
// point when pulse and period are equal, pressure agrees within 1 % and voltage
// within 0.1 V.
type Point struct {
	Pulse, Period unit.Time
	Pressure      unit.Pressure
	Voltage       unit.Voltage
	Static        bool // held open
	Leak          bool // no pulses
}

// A Mean is what one injector delivered per shot at one point: the mean of the
// repeats whose readings were not judged wrong.
type Mean struct {
	PerShot unit.Volume
	U       unit.Volume // standard uncertainty of the mean: vessel, count, repeats
	N       int         // readings; 0: not measured
}

// Checked is a sheet that Check has judged; only Check fills it.
type Checked struct {
	sheet     Sheet
	injectors []Injector // natural order of ID
	points    []Point    // by voltage, pressure, pulse; leak tests last
	means     [][]Mean   // [injector][point]
	wrong     []string   // by reading: why it was judged wrong, "" if it was not
	notes     []diag.Note
}

func (c Checked) Sheet() Sheet          { return c.sheet }
func (c Checked) Setup() Setup          { return c.sheet.Setup }
func (c Checked) Readings() []Reading   { return c.sheet.Readings }
func (c Checked) Injectors() []Injector { return c.injectors }
func (c Checked) Points() []Point       { return c.points }

// Mean is what injector i delivered at point p, both as indexes of the lists.
func (c Checked) Mean(i, p int) Mean { return c.means[i][p] }

// Wrong says why reading i was judged wrong; "" if it was not.
func (c Checked) Wrong(i int) string { return c.wrong[i] }

// Notes are the findings, in the order of the file.
func (c Checked) Notes() []diag.Note { return c.notes }
