package exercises

import "fmt"

// Methods of whitening, as tasks of the exercise; empty is any of them.
const (
	methodHome   = "home"
	MethodOffice = "in-office"
	MethodStrips = "strips"
)

// Course is what a method of whitening brought about in a published study, in
// ΔE*ab from the start: mean and standard deviation over patients.
type Course struct {
	Method, Name       string
	Mean, SD           float64 // after the course
	LaterMean, LaterSD float64 // three months on
	Source             string
}

const oper2009 = "Oper Dent 2009;34:635–641"

// Courses are the published courses that the exercise draws from.
var Courses = []Course{
	{methodHome, "two weeks at home", 6.57, 2.13, 4.98, 1.34, oper2009},
	{MethodOffice, "in the surgery", 5.77, 1.72, 4.59, 1.42, oper2009},
	{MethodStrips, "strips", 3.58, 1.57, 2.99, 1.39, oper2009},
}

// Steps turns a ΔE*ab along the whitening direction into steps of the ladder.
func Steps(eab float64) float64 { return eab * whitenessPerEab / LadderStep }

// Advice is a line for the screen with its source.
type Advice struct{ Text, Source string }

const noSource = "common practice, no source"

// WhiteningAdvice says what to promise a patient, and when to take the shade.
func WhiteningAdvice() []Advice {
	var list []Advice
	for _, c := range Courses {
		list = append(list, Advice{fmt.Sprintf("%s: %.1f ΔE*ab on average (SD %.1f), about %.1f steps of this ladder; three months on %.1f (SD %.1f), about %.1f steps.",
			capital(c.Name), c.Mean, c.SD, Steps(c.Mean), c.LaterMean, c.LaterSD, Steps(c.LaterMean)), c.Source})
	}
	return append(list,
		Advice{"Strong and weak agents over a year: 8.4 (SD 2.7) and 5.3 (SD 2.5) ΔE*ab.", "BMC Oral Health 2020, doi 10.1186/s12903-020-01244-x"},
		Advice{"About six steps is a usual promise; ten or twelve is not.", noSource},
		Advice{fmt.Sprintf("Steps are this ladder's own, %.1f ΔWI_D each and even to within rounding; on another ladder, and on the easier levels, a step has another size.", LadderStep),
			"computed here; WI_D: Pérez et al. 2016, Dent Mater 32:461–467"},
		Advice{"Part of the gain goes back within weeks: wait two weeks or more before a shade is taken for a restoration.", noSource},
		Advice{"A dried tooth looks lighter than it is: after 30 minutes dry all differed visibly, 85 % unacceptably.", "PMID 32573090"},
	)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
