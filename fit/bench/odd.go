package bench

import "regexp"

const month = `(?i:jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)\pL*`

// What people and spreadsheets put where a number belongs, and what to do about it.
var odd = []struct {
	like *regexp.Regexp
	tell string
}{
	{regexp.MustCompile(`^#[A-Z0-9/]+[!?]?$`), "is not a number but an error of a spreadsheet's formula: mend the formula, or type the number"},
	{regexp.MustCompile(`^=`), "is not a number but a formula: type its result, or save the file with the results"},
	{regexp.MustCompile(`^[<>~≈]|^ca\.? `), "is not a number alone: write the number that was read, or leave the cell empty; a vessel that ran over tells nothing, so measure again with fewer shots"},
	{regexp.MustCompile(`^\d{1,2}(:\d{2}){1,2}$`), "is not a number but a time of day: write the time as a plain number, such as 90 for a minute and a half in duration_s"},
	{regexp.MustCompile(`^\d{1,3}([ '’\x{A0}\x{2009}\x{202F}]\d{3})+$`), "is not a number with a separator of thousands in it: write it without one"},
	{regexp.MustCompile(`^(\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./]\d{1,2}[./]\d{2,4}|\d{1,2}\.?[ -]?` + month + `\.?|` + month + `[ -]\d{1,4})$`), "is not a number but a date, which spreadsheets make of numbers such as 4.5: give the column the format of a number and type it again"},
	{regexp.MustCompile(`^'`), "is not a number with the apostrophe before it, which makes it a text: take it away"},
	{regexp.MustCompile(`^[−–]`), "is not a number with a dash before it: write a plain minus, or leave the cell empty where nothing was measured"},
}

// oddNumber says what is wrong with a text that is no number, if it is a known kind.
func oddNumber(text string) string {
	for _, o := range odd {
		if o.like.MatchString(text) {
			return o.tell
		}
	}
	return ""
}
