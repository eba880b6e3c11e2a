package colour

// Limit is a published limit of a difference between colours, with the source that is
// printed where the limit is used.
type Limit struct {
	Value  float64
	Source string
}

// The limits that shades, teeth and answers are judged by. They were found with ceramic
// specimens in a viewing booth, by groups of observers; on a display and for one person
// they may lie elsewhere.
var (
	// Perceptibility is the ΔE00 that half of the observers see, of ceramic specimens in a
	// viewing booth.
	Perceptibility = Limit{0.8, "50:50 % perceptibility, ceramic specimens in a viewing booth, Paravina et al. 2015, J Esthet Restor Dent 27(S1):S1–S9"}
	// Acceptability is the ΔE00 at which half of the observers would accept a pair of such
	// specimens, asked as if it were a restoration.
	Acceptability = Limit{1.8, "50:50 % acceptability, ceramic specimens in a viewing booth, Paravina et al. 2015, J Esthet Restor Dent 27(S1):S1–S9"}
	// PerceptibilityEab and AcceptabilityEab are the same in ΔE*ab.
	PerceptibilityEab = Limit{1.2, Perceptibility.Source}
	AcceptabilityEab  = Limit{2.7, Acceptability.Source}
	// WhitenessPerceptibility and WhitenessAcceptability are limits of ΔWI_D.
	WhitenessPerceptibility = Limit{0.72, "ΔWI_D perceptibility, Pérez et al. 2019, Dent Mater 35:292–297 (figure from memory)"}
	WhitenessAcceptability  = Limit{2.60, "ΔWI_D acceptability, Pérez et al. 2019, Dent Mater 35:292–297"}
)
