package fit

import (
	"injtab/fit/bench"
	"injtab/fit/diag"
)

// untold says what the session could not tell and which readings would.
func (m *Model) untold() []diag.Note {
	var out []diag.Note
	add := func(code, format string, args ...any) { out = append(out, diag.Warn(code, format, args...)) }
	if len(m.measured.flowPressures) == 1 {
		add("one_pressure", "only %s kPa was measured: flow and dead time at other pressures are not known; add the long pulses at two other pressures", trimmed(m.measured.flowPressures[0]))
	}
	switch n := len(m.measured.voltages); {
	case n == 1:
		add("one_voltage", "only %s V was measured: dead time at other voltages is not known; add two pulses at three other voltages, low ones above all", trimmed(m.measured.voltages[0]))
	case n < 4:
		add("few_voltages", "%d voltages were measured: between and beyond them the dead time rests on the form of the curve; a fourth voltage, the lowest the engine cranks at, would check it", n)
	}
	if m.measured.shortest > shortOpen {
		add("no_short_pulses", "no pulse was shorter than %.1f ms of open time: the short-pulse correction is not measured; add pulses of 0.5, 0.8 and 1.2 ms beyond the dead time", m.measured.shortest)
	}
	if !m.anyClosing() {
		add("no_closing_time", "no pulse came close to its period, so the closing time is not known; add a pulse that leaves 1 to 2 ms")
	}
	fitted := make(map[string]bool, len(m.Members))
	for _, x := range m.Members {
		fitted[x.ID] = true
		if x.N < 3 {
			add("few_readings", "injector %s has only %d usable readings: what it differs by from its family is taken from those alone; add a long and a short pulse", x.ID, x.N)
		}
	}
	for _, x := range m.Checked.Injectors() {
		if !fitted[x.ID] && x.Verdict == bench.Sound {
			add("no_usable_reading", "injector %s has no reading that the fit could use: its pulses left less than %.3g ms off, hardly opened it, or delivered nothing; add a long pulse", x.ID, shortOff)
		}
	}
	return out
}

func (m *Model) anyClosing() bool {
	for g := range m.Members {
		if known, fails := m.Closing(g); known > 0 || fails > 0 {
			return true
		}
	}
	return false
}
