package tables

import (
	"fmt"
	"math"
)

// mostPoints is how many readings a chart shows: a page with a point for each of a
// million has 320 MB, which no browser opens.
const mostPoints = 3000

// drawn tells whether a chart of n readings shows the i-th: all, or some that are spread
// in steps of the golden section, which keep time with no turns of injectors or points.
func drawn(i, n int) bool {
	_, part := math.Modf(float64(i) * math.Phi)
	return n <= mostPoints || part*float64(n) < mostPoints
}

// ofReadings ends the title of a chart that shows some of n readings.
func ofReadings(n int) string {
	if n <= mostPoints {
		return ""
	}
	return fmt.Sprintf(" (about %d of %d readings)", mostPoints, n)
}
