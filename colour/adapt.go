package colour

// Transform is a matrix from tristimulus values to sharpened cone responses, in
// which an observer's adaptation to a white is a scaling of each channel.
type Transform struct {
	Name   string
	matrix matrix3
}

var (
	// Bradford is the transform of the ICC's profiles and of CIECAM97s, here in
	// its linear form (ISO 15076-1, Annex E).
	Bradford = Transform{"Bradford", matrix3{
		{0.8951, 0.2664, -0.1614},
		{-0.7502, 1.7135, 0.0367},
		{0.0389, -0.0685, 1.0296},
	}}
	// CAT16 is the transform of CIECAM16 (CIE 248:2022). It is the one used here
	// throughout: it is what the CIE now recommends, and unlike Bradford's its
	// adapted responses stay positive for every real colour, so a warm lamp and a
	// saturated tab cannot drive it out of range.
	CAT16 = Transform{"CAT16", matrix3{
		{0.401288, 0.650173, -0.051461},
		{-0.250268, 1.204414, 0.045854},
		{-0.002079, 0.048952, 0.953127},
	}}
)

// Adaptation carries tristimulus values from one white to another.
type Adaptation struct{ matrix matrix3 }

// Adapt makes the adaptation from one white to another, complete (the observer is
// taken to be wholly adapted to the light): B⁻¹·diag(ρ_to/ρ_from)·B.
func Adapt(t Transform, from, to XYZ) Adaptation {
	a, b := t.matrix.times(from), t.matrix.times(to)
	scale := matrix3{{b.X / a.X}, {0, b.Y / a.Y}, {0, 0, b.Z / a.Z}}
	return Adaptation{t.matrix.inverse().timesMatrix(scale.timesMatrix(t.matrix))}
}

// Apply adapts a tristimulus value.
func (a Adaptation) Apply(c XYZ) XYZ { return a.matrix.times(c) }
