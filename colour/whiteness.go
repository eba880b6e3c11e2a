package colour

// WhitenessIndex is the whiteness index for dentistry WI_D = 0.511 L* −
// 2.324 a* − 1.100 b* (Pérez et al., Dental Materials 32 (2016) 461–467).
// Higher is whiter; teeth run from about −10 to +35.
func WhitenessIndex(c Lab) float64 { return 0.511*c.L - 2.324*c.A - 1.100*c.B }
