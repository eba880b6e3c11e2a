package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"
)

// steps are the eighths of a letter's height.
var sparkSteps = []rune("▁▂▃▄▅▆▇█")

// words draws the line in letters; a gap where there is no value.
func (s Spark) words() string {
	var b strings.Builder
	for _, v := range s.Values {
		if math.IsNaN(v) || !(s.Top > 0) {
			b.WriteRune(' ')
			continue
		}
		step := int(math.Max(0, math.Min(1, v/s.Top)) * float64(len(sparkSteps)))
		b.WriteRune(sparkSteps[min(step, len(sparkSteps)-1)])
	}
	return b.String()
}

const sparkWidth, sparkHeight = 72.0, 16.0

// picture draws the line as high as a line of text.
func (s Spark) picture() template.HTML {
	if len(s.Values) == 0 || !(s.Top > 0) {
		return ""
	}
	var points []string
	for i, v := range s.Values {
		if math.IsNaN(v) {
			continue
		}
		x := sparkWidth / 2
		if len(s.Values) > 1 {
			x = 2 + (sparkWidth-4)*float64(i)/float64(len(s.Values)-1)
		}
		points = append(points, coordinate(x)+","+coordinate(sparkHeight-1-(sparkHeight-2)*math.Max(0, math.Min(1, v/s.Top))))
	}
	if len(points) == 0 {
		return ""
	}
	last := strings.SplitN(points[len(points)-1], ",", 2)
	return template.HTML(fmt.Sprintf(`<svg class="spark" viewBox="0 0 %s %s" width="%s" height="%s" aria-hidden="true"><path d="M0 %s H%s" stroke="#ccc" fill="none"/><polyline points="%s" fill="none" stroke="%s" stroke-width="1.3"/><circle cx="%s" cy="%s" r="1.8" fill="%s"/></svg>`,
		coordinate(sparkWidth), coordinate(sparkHeight), coordinate(sparkWidth), coordinate(sparkHeight), coordinate(sparkHeight-1), coordinate(sparkWidth), strings.Join(points, " "), ink, last[0], last[1], ink))
}
