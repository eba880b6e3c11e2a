package exercises

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
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
//	choice    Of some candidates, drawn as an even drill would draw its targets, one is
//	          taken with a chance that grows with the loss believed there and with how
//	          little is known of it: who errs much somewhere is asked more there, a
//	          little more than by the allocation of J. Neyman (J R Stat Soc 97 (1934)
//	          558–625, from memory), under which a sample tells most of a mean.
//	chance    What an even drill would have shown can be told from such a sample, since
//	          the chance of the candidate taken is known: q among m candidates is m·q
//	          times that of an even sample, and 1/(m·q) is its weight (D. G. Horvitz
//	          and D. J. Thompson, J Am Stat Assoc 47 (1952) 663–685, from memory).
//
// The figures are house rules, set by the simulation in the tests.
const (
	cellPitch  = 5.0   // ΔE00
	halfLife   = 200.0 // answers
	alike      = 4.5   // ΔE00: length scale of the resemblance
	regionSD   = 0.5   // ΔE00: prior standard deviation between regions
	answerSD   = 0.9   // ΔE00: of a single loss around its region's mean
	usualLoss  = 0.6   // ΔE00: expected before anything is known …
	usualCount = 4.0   // … with the weight of so many answers
	candidates = 24
	curiosity  = 0.5 // standard deviations of the belief that are added to its mean
	sharpness  = 1.4 // exponent of the chance with the loss
	leastShare = 0.5 // of the usual loss: what is believed at least of any region
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

// belief is the posterior mean and standard deviation of the loss at some of the
// centres, and the learner's own mean. With s the centres that were answered, K the
// prior and D the variance of their mean losses,
//
//	μ = m + K(·,s)·(K(s,s) + D)⁻¹·(y − m)   Σ = K − K(·,s)·(K(s,s) + D)⁻¹·K(s,·)
//
// which are equations (2.25) and (2.26) there.
func (r *regions) belief(at []int) (mean, deviation []float64, usual float64) {
	var seen []int
	total, count := usualLoss*usualCount, usualCount
	for i, w := range r.weight {
		if w > 1e-3 {
			seen = append(seen, i)
			total, count = total+r.sum[i], count+w
		}
	}
	usual = total / count
	mean, deviation = make([]float64, len(at)), make([]float64, len(at))
	for a := range at {
		mean[a], deviation[a] = usual, regionSD
	}
	if len(seen) == 0 {
		return mean, deviation, usual
	}
	known := mat.NewSymDense(len(seen), nil)
	rest := mat.NewVecDense(len(seen), nil)
	for a, i := range seen {
		for b := a; b < len(seen); b++ {
			known.SetSym(a, b, r.prior.At(i, seen[b]))
		}
		known.SetSym(a, a, known.At(a, a)+answerSD*answerSD/r.weight[i])
		rest.SetVec(a, r.sum[i]/r.weight[i]-usual)
	}
	var chol mat.Cholesky
	if !chol.Factorize(known) { // cannot be: the prior is one, and D > 0 is added to it
		return mean, deviation, usual
	}
	// With UᵀU = K(s,s) + D and x = U⁻ᵀK(s,·) the two are xᵀ(U⁻ᵀ(y − m)) and xᵀx.
	u := chol.RawU().(*mat.TriDense).RawTriangular()
	blas64.Trsv(blas.Trans, u, rest.RawVector())
	cross := mat.NewVecDense(len(seen), nil)
	for b, j := range at {
		for a, i := range seen {
			cross.SetVec(a, r.prior.At(i, j))
		}
		blas64.Trsv(blas.Trans, u, cross.RawVector())
		mean[b] += mat.Dot(cross, rest)
		deviation[b] = math.Sqrt(max(0, regionSD*regionSD-mat.Dot(cross, cross)))
	}
	return mean, deviation, usual
}

// choose picks the next target among candidates that draw gives evenly, and says how
// many times as likely it was as in an even sample.
func (r *regions) choose(rng *rand.Rand, draw func(*rand.Rand) colour.SRGB) (target colour.SRGB, chance float64) {
	var offered [candidates]colour.SRGB
	var belongs [candidates]int // place of its centre among cells
	var cells []int
	for k := range offered {
		offered[k] = draw(rng)
		cell := r.cell(offered[k].Lab())
		belongs[k] = slices.Index(cells, cell)
		if belongs[k] < 0 {
			belongs[k] = len(cells)
			cells = append(cells, cell)
		}
	}
	mean, deviation, usual := r.belief(cells)
	var pull [candidates]float64
	total := 0.0
	for k, c := range belongs {
		pull[k] = math.Pow(max(leastShare*usual, mean[c]+curiosity*deviation[c]), sharpness)
		total += pull[k]
	}
	taken, left := 0, total*rng.Float64()
	for left -= pull[0]; left >= 0 && taken < candidates-1; left -= pull[taken] {
		taken++
	}
	return offered[taken], candidates * pull[taken] / total
}
