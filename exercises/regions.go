package exercises

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Adaptive practice asks more often where this learner errs and where nothing is
// known yet.
//
//	lattice   The colours of teeth are divided among centres about cellPitch
//	          apart; a colour belongs to the nearest centre.
//	loss      The excess of an answer: its ΔE00 less the best that the library
//	          offers there, so that a region is not weak because its tabs are few.
//	          An old loss counts half as much after halfLife further answers:
//	          people improve.
//	belief    The mean loss at each centre, a Gaussian process: centres near each
//	          other resemble each other (C. E. Rasmussen and C. K. I. Williams,
//	          Gaussian Processes for Machine Learning, MIT Press 2006, section
//	          2.2). Where nothing was asked the belief is the learner's own mean,
//	          widely uncertain.
//	choice    Thompson sampling (W. R. Thompson, Biometrika 25 (1933) 285–294):
//	          of some candidate targets, spread evenly over all tooth colours, each
//	          centre's loss is drawn from the belief, and the target with the
//	          largest is asked. Unmeasured regions come up because their draws
//	          scatter. The number of candidates bounds how much more often a weak
//	          region can come up, so that the others stay in practice.
//	the rest  A fifth of the targets is drawn as if nothing were known, which
//	          guards against a wrong belief.
//
// The figures are house rules, set by the simulation in the tests.
const (
	cellPitch  = 5.0   // ΔE00
	halfLife   = 200.0 // answers
	alike      = 4.5   // ΔE00: length scale of the resemblance
	regionSD   = 0.5   // ΔE00: prior standard deviation between regions
	answerSD   = 0.6   // ΔE00: of a single loss around its region's mean
	usualLoss  = 0.6   // ΔE00: expected before anything is known …
	usualCount = 4.0   // … with the weight of so many answers
	unguided   = 0.2
	candidates = 40
)

// regions is what is believed about a learner's losses across the colours of
// teeth. It is the same again when the same outcomes are added in the same order.
type regions struct {
	sheet   *tabs.Sheet
	centres []colour.Lab // as shown under the drill's lamp
	prior   *mat.SymDense
	weight  []float64 // effective number of answers
	sum     []float64 // of losses, equally weighted
}

var daylightLattice = sync.OnceValue(func() []colour.Lab { return tabs.Teeth.Grid(cellPitch) })

func newRegions(sheet *tabs.Sheet, lamp func(colour.Lab) colour.Lab) *regions {
	r := &regions{sheet: sheet}
	for _, c := range daylightLattice() {
		r.centres = append(r.centres, lamp(c))
	}
	n := len(r.centres)
	r.weight, r.sum = make([]float64, n), make([]float64, n)
	r.prior = mat.NewSymDense(n, nil)
	for i, a := range r.centres {
		for j := i; j < n; j++ {
			d := colour.DeltaE00(a, r.centres[j]) / alike
			r.prior.SetSym(i, j, regionSD*regionSD*math.Exp(-d*d/2))
		}
	}
	return r
}

// cell is the centre that a shown colour belongs to.
func (r *regions) cell(c colour.Lab) int {
	best, least := 0, math.Inf(1)
	for i, centre := range r.centres {
		if colour.DeltaE00Floor(c, centre) >= least {
			continue
		}
		if e := colour.DeltaE00(c, centre); e < least {
			best, least = i, e
		}
	}
	return best
}

// add takes in an answer. An outcome that is no number teaches nothing.
func (r *regions) add(o Outcome) {
	target := o.Target.Lab()
	loss := o.Difference.E
	if r.sheet != nil {
		loss = max(0, loss-r.sheet.Best(target).E)
	}
	if math.IsNaN(loss) || math.IsInf(loss, 0) {
		return
	}
	fade := math.Exp2(-1.0 / halfLife)
	for i := range r.weight {
		r.weight[i] *= fade
		r.sum[i] *= fade
	}
	i := r.cell(target)
	r.weight[i]++
	r.sum[i] += loss
}

// belief is the posterior mean and covariance of the loss at some of the
// centres. With s the centres that were answered, K the prior and D the variance
// of their mean losses,
//
//	μ = m + K(·,s)·(K(s,s) + D)⁻¹·(y − m)   Σ = K − K(·,s)·(K(s,s) + D)⁻¹·K(s,·)
//
// which are equations (2.25) and (2.26) there.
func (r *regions) belief(at []int) (mean []float64, covariance *mat.SymDense) {
	var seen []int
	total, count := usualLoss*usualCount, usualCount
	for i, w := range r.weight {
		if w > 1e-3 {
			seen = append(seen, i)
			total, count = total+r.sum[i], count+w
		}
	}
	usual := total / count
	mean = make([]float64, len(at))
	covariance = mat.NewSymDense(len(at), nil)
	for a, i := range at {
		mean[a] = usual
		for b := a; b < len(at); b++ {
			covariance.SetSym(a, b, r.prior.At(i, at[b]))
		}
	}
	if len(seen) == 0 {
		return mean, covariance
	}
	known := mat.NewSymDense(len(seen), nil)
	rest := mat.NewVecDense(len(seen), nil)
	cross := mat.NewDense(len(seen), len(at), nil)
	for a, i := range seen {
		for b := a; b < len(seen); b++ {
			known.SetSym(a, b, r.prior.At(i, seen[b]))
		}
		known.SetSym(a, a, known.At(a, a)+answerSD*answerSD/r.weight[i])
		rest.SetVec(a, r.sum[i]/r.weight[i]-usual)
		for b, j := range at {
			cross.Set(a, b, r.prior.At(i, j))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(known) { // cannot be: the prior is one, and D > 0 is added to it
		return mean, covariance
	}
	// An error here only says that the matrix is ill conditioned, which D rules out.
	var solvedRest mat.VecDense
	_ = chol.SolveVecTo(&solvedRest, rest)
	var solvedCross, explained mat.Dense
	_ = chol.SolveTo(&solvedCross, cross)
	explained.Mul(cross.T(), &solvedCross)
	for a := range at {
		mean[a] += mat.Dot(cross.ColView(a), &solvedRest)
		for b := a; b < len(at); b++ {
			covariance.SetSym(a, b, covariance.At(a, b)-(explained.At(a, b)+explained.At(b, a))/2)
		}
	}
	return mean, covariance
}

// imagine draws one loss for each of some centres from the belief.
func (r *regions) imagine(rng *rand.Rand, at []int) []float64 {
	drawn, covariance := r.belief(at)
	// A smooth process is nearly singular; a little of each centre's own makes it
	// safe to factorise.
	for a := range at {
		covariance.SetSym(a, a, covariance.At(a, a)+1e-6)
	}
	var chol mat.Cholesky
	if !chol.Factorize(covariance) {
		return drawn
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	z := mat.NewVecDense(len(at), nil)
	for a := range at {
		z.SetVec(a, rng.NormFloat64())
	}
	var scatter mat.VecDense
	scatter.MulVec(&lower, z)
	for a := range at {
		drawn[a] += scatter.AtVec(a)
	}
	return drawn
}

// choose picks the next target among those that draw offers.
func (r *regions) choose(rng *rand.Rand, draw func(*rand.Rand) colour.SRGB) colour.SRGB {
	offered := make([]colour.SRGB, candidates)
	belongs := make([]int, candidates)
	var cells []int
	for k := range offered {
		offered[k] = draw(rng)
		belongs[k] = r.cell(offered[k].Lab())
		if !slices.Contains(cells, belongs[k]) {
			cells = append(cells, belongs[k])
		}
	}
	weakest, most := 0, math.Inf(-1)
	for a, loss := range r.imagine(rng, cells) {
		if loss > most {
			weakest, most = cells[a], loss
		}
	}
	return offered[slices.Index(belongs, weakest)]
}
