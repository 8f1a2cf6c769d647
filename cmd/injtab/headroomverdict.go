package main

import (
	"fmt"
	"math"

	"injtab/export"
)

// A sentence is what the sheet says where a condition holds, as a formula and in Go.
type sentence struct {
	when  string
	holds func(known) bool
	says  string
	what  string // the entry whose text follows
}

// dutyVerdicts are tried in this order; the last holds where none other does.
var dutyVerdicts = []sentence{
	{"ISERROR(room_pulse)", func(k known) bool { return math.IsNaN(k.of("room_pulse")) },
		"NO ANSWER: a table has no value there: the injector does not open, or it was not measured", ""},
	{"room_duty>100", func(k known) bool { return k.of("room_duty") > 100 },
		"NOT POSSIBLE: the pulse is longer than the time between two shots", ""},
	{"room_window-room_pulse<room_closing", func(k known) bool { return k.of("room_window")-k.of("room_pulse") < k.of("room_closing") },
		"NOT POSSIBLE: too little time off for the injector to close", ""},
	{"room_duty>room_limit", func(k known) bool { return k.of("room_duty") > k.of("room_limit") },
		"TOO MUCH: beyond the duty limit", ""},
	{"room_ml_tables<room_smallest", func(k known) bool { return k.of("room_ml_tables") < k.of("room_smallest") },
		"TOO LITTLE: less than the injector's smallest dependable fuel", ""},
	{"TRUE", func(known) bool { return true }, within, ""},
}

const within = "Within the duty limit"

// footings say what the answer rests on, the worst first.
var footings = []sentence{
	{"ISERROR(room_pulse)", func(k known) bool { return math.IsNaN(k.of("room_pulse")) }, "No value", ""},
	{`room_outside<>""`, func(k known) bool { return k["room_outside"].Text != "" }, "OUTSIDE THE TABLES, where the last value is held and nothing supports it: ", "room_outside"},
	anyRests("assumed", "ASSUMED: a value that was not measured"),
	anyRests("extrapolated", "EXTRAPOLATED: beyond the readings, by the fitted curve"),
	anyRests("unreliable", "UNRELIABLE: the injector barely opens"),
	{"TRUE", func(known) bool { return true }, measured, ""},
}

const measured = "Readings, or between them"

// anyRests holds where one of the look-ups rests on the word.
func anyRests(word, says string) sentence {
	return sentence{
		fmt.Sprintf(`OR(room_flow_basis="%[1]s",room_short_basis="%[1]s",room_dead_basis="%[1]s")`, word),
		func(k known) bool {
			return k["room_flow_basis"].Text == word || k["room_short_basis"].Text == word || k["room_dead_basis"].Text == word
		}, says, "",
	}
}

func verdictEntries() []export.Entry {
	return []export.Entry{firstOf("room_verdict", "Verdict", dutyVerdicts, within), firstOf("room_footing", "It rests on", footings, measured)}
}

// firstOf says the first sentence that holds, and sets it off unless it is the good one.
func firstOf(name, label string, list []sentence, good string) export.Entry {
	formula := fmt.Sprintf("%q", list[len(list)-1].says)
	for i := len(list) - 2; i >= 0; i-- {
		says := fmt.Sprintf("%q", list[i].says)
		if list[i].what != "" {
			says += "&" + list[i].what
		}
		formula = fmt.Sprintf("IF(%s,%s,%s)", list[i].when, says, formula)
	}
	return export.Entry{
		Label: label, Name: name, Formula: formula, Mark: fmt.Sprintf("%s<>%q", name, good),
		Says: func(k map[string]export.Entry) string {
			for _, s := range list {
				if s.holds(k) {
					return s.says + k[s.what].Text
				}
			}
			return ""
		},
	}
}
