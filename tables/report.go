package tables

import "injtab/fit/diag"

// A Report is all that one verb has to say, in the order it is read: the answer
// first. Export shows it as text, Markdown, a workbook or a page.
type Report struct {
	Title    string
	Answer   []string // the verdict, a sentence each
	Facts    []Fact   // what this rests on: file, hash, fluid, pressure
	Sections []Section
	Next     []string // what to do next, a sentence each
	Cautions []string
}

// A Fact is a name and its value, as text.
type Fact struct{ Name, Value string }

// A Section is a heading with what belongs under it.
type Section struct {
	Name    string // anchor and sheet name: "dead_time"
	Heading string
	Text    []string // paragraphs
	Tables  []Table
	Charts  []Chart
	Notes   []diag.Note
}

// SeriesKind says how a series is drawn.
type SeriesKind uint8

const (
	Line   SeriesKind = iota
	Points            // with error bars where Lo and Hi are given
	Bars              // over Chart.Categories: X holds the index of the category
	Band              // the area between Lo and Hi
)

// A Chart is a picture described by its data; all numbers are finite.
type Chart struct {
	Name       string // stem of a file: "deviation"
	Title      string
	Alt        string // what the picture shows, for those who can't see it
	X, Y       Scale
	Categories []string // names along X instead of numbers
	Series     []Series
	Marks      []Mark
	Aside      bool // as of a Table
}

// A Scale is an axis of a chart.
type Scale struct{ Title, Unit string }

// A Series is one line, cloud or row of bars.
type Series struct {
	Name   string
	Kind   SeriesKind
	X, Y   []float64
	Lo, Hi []float64 // nil, or the interval of each Y
	Labels []string  // nil, or a text for each point ("injector 7, 2 ms")
}

// A Mark is a straight line across the chart at one value, such as a limit.
type Mark struct {
	Name     string
	Vertical bool // at an X instead of a Y
	At       float64
}
