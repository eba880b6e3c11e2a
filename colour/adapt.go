package colour

// transform is a matrix from tristimulus values to sharpened cone responses, in
// which an observer's adaptation to a white is a scaling of each channel.
type transform struct {
	Name   string
	matrix matrix3
}

var (
	// cat16 is the transform of CIECAM16 (CIE 248:2022). It is the one used here
	// throughout: it is what the CIE now recommends, and unlike Bradford's its
	// adapted responses stay positive for every real colour, so a warm lamp and a
	// saturated tab cannot drive it out of range.
	cat16 = transform{"CAT16", matrix3{
		{0.401288, 0.650173, -0.051461},
		{-0.250268, 1.204414, 0.045854},
		{-0.002079, 0.048952, 0.953127},
	}}
)

// adaptation carries tristimulus values from one white to another.
type adaptation struct{ matrix matrix3 }

// adapt makes the adaptation from one white to another, complete (the observer is
// taken to be wholly adapted to the light): B⁻¹·diag(ρ_to/ρ_from)·B.
func adapt(t transform, from, to XYZ) adaptation {
	a, b := t.matrix.times(from), t.matrix.times(to)
	scale := matrix3{{b.X / a.X}, {0, b.Y / a.Y}, {0, 0, b.Z / a.Z}}
	return adaptation{t.matrix.inverse().timesMatrix(scale.timesMatrix(t.matrix))}
}

// apply adapts a tristimulus value.
func (a adaptation) apply(c XYZ) XYZ { return a.matrix.times(c) }
