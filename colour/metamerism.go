package colour

// A metameric pair matches under one light and not under another. Its index of
// metamerism is the colour difference under the test light. A real pair never
// matches quite, so what is left under the reference light is removed first, by
// a correction of ISO 18314-4:2024 (there "reference" and "test" are
// lights, "standard" and "sample" the two surfaces).

// CorrectAdditive shifts the sample's colour under the test light by what the
// sample lacked under the reference light: the correction recommended in CIELAB.
func CorrectAdditive(sampleTest, sampleReference, standardReference Lab) Lab {
	return Lab{
		sampleTest.L - (sampleReference.L - standardReference.L),
		sampleTest.A - (sampleReference.A - standardReference.A),
		sampleTest.B - (sampleReference.B - standardReference.B),
	}
}

// correctSpectral gives the sample the standard's fundamental, the part of a
// spectrum that the observer sees under the reference light, and leaves the sample's
// own metameric black: N' = R·N_std + (I−R)·N_spl with R = A(AᵀA)⁻¹Aᵀ, the
// matrix of Cohen and Kappauf. A holds the observer's weights under the light.
// Both spectra are taken at the standard's wavelengths.
func correctSpectral(sample, standard Spectrum, reference Light, observer standardObserver) Spectrum {
	a := observer.weightsAt(reference.Power, standard)
	n := len(standard.Values)
	own := make([]float64, n)
	var ata matrix3
	var lack [3]float64 // Aᵀ(N_std − N_spl)
	for i := range n {
		own[i] = sample.At(standard.Start + standard.Step*float64(i))
		for j := range 3 {
			lack[j] += a[j][i] * (standard.Values[i] - own[i])
			for k := range 3 {
				ata[j][k] += a[j][i] * a[k][i]
			}
		}
	}
	x := ata.inverse().times(XYZ{lack[0], lack[1], lack[2]})
	for i := range own {
		own[i] += a[0][i]*x.X + a[1][i]*x.Y + a[2][i]*x.Z
	}
	return Spectrum{standard.Start, standard.Step, own}
}

// weightsAt are the weights at the wavelengths of a spectrum, scaled so that a
// perfect white has Y = 1 there.
func (o standardObserver) weightsAt(power, at Spectrum) (w [3][]float64) {
	cmf := observers()[o]
	var y float64
	for axis := range w {
		w[axis] = make([]float64, len(at.Values))
		matching := cmf[axis].spectrum()
		for i := range w[axis] {
			nm := at.Start + at.Step*float64(i)
			if nm >= gridStart && nm <= wavelength(gridSize-1) {
				w[axis][i] = power.At(nm) * matching.At(nm)
			}
			if axis == 1 {
				y += w[axis][i]
			}
		}
	}
	for axis := range w {
		for i := range w[axis] {
			w[axis][i] /= y
		}
	}
	return w
}

// MetamerismIndex is the difference of two reflectances under a test light, in
// CIEDE2000 for the 2° observer and CIELAB relative to that light's white, after
// what separates them under the reference light was removed by the spectral
// correction. It is meant for pairs that nearly match under the reference light:
// a plain difference in lightness is not removed without a trace.
func MetamerismIndex(standard, sample Spectrum, reference, test Light) Difference {
	on := standard.grid().spectrum()
	corrected := correctSpectral(sample, on, reference, twoDegree)
	return Compare(test.lab(on), test.lab(corrected), Unit)
}
