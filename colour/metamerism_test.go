package colour

import "testing"

// xyzAt sums a spectrum with weights at its own wavelengths.
func xyzAt(w [3][]float64, s Spectrum) (c XYZ) {
	for i, v := range s.Values {
		c.X += w[0][i] * v
		c.Y += w[1][i] * v
		c.Z += w[2][i] * v
	}
	return c
}

// The worked examples of ISO 18314-4:2024 as printed in the documentation of
// colour-science: D65 to A, 10° observer, ΔE*ab.
func TestMetamerismWorkedExamples(t *testing.T) {
	additive := CorrectAdditive(
		Lab{37.9013, -19.56327, 16.9346}, Lab{38.83253, -19.8787, 20.0453}, Lab{39.0908, -21.3269, 22.6657})
	near(t, "additive, CIELAB", DeltaEab(Lab{38.17781, -17.4939, 21.0618}, additive), 3.8267581, 1e-6)

	sample, standard := Spectrum{Start: 400, Step: 10}, Spectrum{Start: 400, Step: 10}
	for _, row := range table(t, "metamerism-iso-18314-4.csv") {
		sample.Values = append(sample.Values, row["sample"])
		standard.Values = append(standard.Values, row["standard"])
	}
	d65, a := D65(), light(t, "a")
	corrected := correctSpectral(sample, standard, d65, tenDegree)
	underD65 := tenDegree.weightsAt(d65.Power, standard)
	sameXYZ(t, "corrected sample under D65", xyzAt(underD65, corrected), xyzAt(underD65, standard), 1e-12)
	underA := tenDegree.weightsAt(a.Power, standard)
	// The example uses tables of six digits and takes the white of A from its chromaticity (.45117, .40594).
	white := XYZ{.45117 / .40594, 1, (1 - .45117 - .40594) / .40594}
	near(t, "spectral", DeltaEab(
		xyzAt(underA, standard).labUnder(white), xyzAt(underA, corrected).labUnder(white)), 3.4766679, 1e-5)
}

func TestMetamerismIndex(t *testing.T) {
	d65, a := D65(), light(t, "a")
	flat := Spectrum{380, 400, []float64{0.5, 0.5}}
	near(t, "a surface with itself", MetamerismIndex(flat, flat, d65, a).E, 0, 1e-9)
	if e := MetamerismIndex(flat, Spectrum{380, 100, []float64{0.2, 0.8, 0.2, 0.8, 0.8}}, d65, a).E; e < 1 {
		t.Errorf("a wavy surface against a flat one has an index of %.3f", e)
	}
}
