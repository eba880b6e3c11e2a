package scoring

import "shadedrill/colour"

// Cutoff is a limit that answers and restorations are judged by: one of colour's, or one
// that a house agreed on.
type Cutoff = colour.Limit

// The published limits; see [colour.Limit].
var (
	Perceptibility          = colour.Perceptibility
	Acceptability           = colour.Acceptability
	PerceptibilityEab       = colour.PerceptibilityEab
	AcceptabilityEab        = colour.AcceptabilityEab
	WhitenessPerceptibility = colour.WhitenessPerceptibility
	WhitenessAcceptability  = colour.WhitenessAcceptability
)

// MonitorStudy is the published study that a threshold of a screen is compared with
// first; its figures in ΔE00 are of steps from L* 75, a* 2, b* 20 (a test computes them).
const MonitorStudy = "Published of simulated teeth on a calibrated monitor: 16 people saw about 1.0 ΔE*ab along L* and a* and 2.6 along b* in half of the trials, which from L* 75, a* 2, b* 20 is about 0.7, 1.1 and 1.3 to 1.4 ΔE00; they accepted no more than they did not see, and called 27 % of identical pairs different (Lindsey & Wee 2007, J Dent 35:593–599)."

// BandSource tells where the graded bands come from.
const BandSource = "graded bands at 1, 2 and 3 times acceptability after Paravina, Pérez & Ghinea 2019, J Esthet Restor Dent 31:103–112 (from memory)"

// Band grades a colour difference.
type Band int

const (
	BandNone  Band = iota
	Excellent      // ≤ perceptibility
	Acceptable
	MismatchA // ≤ 2 × acceptability
	MismatchB // ≤ 3 × acceptability
	MismatchC
)

// BandOf grades a ΔE00; each band includes its upper edge.
func BandOf(e float64) Band {
	switch at := Acceptability.Value; {
	case e <= Perceptibility.Value:
		return Excellent
	case e <= at:
		return Acceptable
	case e <= 2*at:
		return MismatchA
	case e <= 3*at:
		return MismatchB
	}
	return MismatchC
}

// Words names the band for a reader.
func (b Band) Words() string {
	switch b {
	case Excellent:
		return "within perceptibility"
	case Acceptable:
		return "within acceptability"
	case MismatchA:
		return "mismatch a, moderately unacceptable"
	case MismatchB:
		return "mismatch b, clearly unacceptable"
	case MismatchC:
		return "mismatch c, extremely unacceptable"
	}
	return ""
}

// String is the band's short name in exports.
func (b Band) String() string {
	switch b {
	case Excellent:
		return "excellent"
	case Acceptable:
		return "acceptable"
	case MismatchA:
		return "mismatch-a"
	case MismatchB:
		return "mismatch-b"
	case MismatchC:
		return "mismatch-c"
	}
	return ""
}

// Whiter is WI_D of the answer minus that of the target.
func Whiter(from, to colour.Lab) float64 {
	return colour.WhitenessIndex(to) - colour.WhitenessIndex(from)
}

// Cautions are shown at first start, in the README and in every report.
var Cautions = []string{
	"For education only. shadedrill is not a medical device and diagnoses nothing.",
	"A display is not a tooth under daylight: results are relative to this screen and this room.",
	"Results do not replace shade taking on the patient, a colour-vision examination, or the judgement of a licensed clinician.",
}
