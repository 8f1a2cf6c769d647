package match

import (
	"fmt"
	"strings"
)

// listed writes names as a sentence does: "3, 7 and 12".
func listed(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

// few lists at most eight names and says how many more there are.
func few(names []string) string {
	const most = 8
	if len(names) <= most {
		return listed(names)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most-1], ", "), len(names)-most+1)
}

// counted writes a number with its noun: "1 injector", "2 injectors".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// injectors writes "injector 3" or "injectors 3 and 7".
func injectors(ids []string) string {
	if len(ids) == 1 {
		return "injector " + ids[0]
	}
	return "injectors " + few(ids)
}

func was(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

func pct(x float64) string { return fmt.Sprintf("%.2f %%", x) }

func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }
