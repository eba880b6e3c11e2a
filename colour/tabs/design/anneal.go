package design

import (
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
)

// An annealing brings a plan to bytes. Rounding alone would undo what the descent
// gained: a byte is up to 0.4 ΔE00, and in-betweens are rounded as well. So single tabs
// are moved by single bytes, at random, and a move stands that lowers the price of all
// colours, or raises it by no more than chance allows; less and less as time goes by
// (simulated annealing: S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, Science 220
// (1983) 671–680, from memory). The price is the soft maximum of a descent without its
// logarithm, Σ exp(d/τ), and what chance allows is a share of it. Before a move stands,
// the peaks that it brings up are looked for: a plan that is judged by a grid alone hides
// its errors between.
type annealing struct {
	rounds, moves int     // moves a round
	wide, narrow  float64 // τ at first and last, ΔE00
	lax, strict   float64 // one part of so many of the price is what chance allows in the mean, at first and last
}

const (
	floor  = 0.06 // ΔE00 below the worst colour from which peaks count
	look   = 0.12 // ΔE00 below that from which colours are climbed from
	wanted = 0.6  // share of moves that go a tab near a colour that is dear
	longer = 0.15 // share of moves that go up to two bytes
	renew  = 1000 // moves after which it is asked anew which colours are dear
	crowd  = 3000 // peaks and other colours taken in from which on the watch is begun anew
)

// prices are what a colour costs by its distance, and the sum over the watched ones.
type prices struct {
	table []float64 // by 1/perUnit ΔE00
	total float64
}

const (
	perUnit = 4096
	free    = 8 // widths τ below the limit up to which a colour costs nothing
)

func (w *watch) price(d float64) float64 { return w.table[int(d*perUnit)] }

func (w *watch) setPrice(tau float64) {
	w.table = make([]float64, int(w.reach*perUnit)+1)
	for i := range w.table {
		if x := (float64(i)/perUnit - w.limit) / tau; x > -free {
			w.table[i] = math.Exp(min(x, 60))
		}
	}
	w.sum()
}

func (w *watch) sum() {
	w.total = 0
	if w.table != nil {
		for _, d := range w.d {
			w.total += w.price(d)
		}
	}
}

// between goes from first to last by equal factors while t goes from 0 to 1.
func between(first, last, t float64) float64 { return first * math.Pow(last/first, t) }

// anneal goes through with it.
func (w *watch) anneal(with annealing, rng *rand.Rand) {
	for r := range with.rounds {
		t := float64(r) / float64(with.rounds)
		w.setPrice(between(with.wide, with.narrow, t))
		w.round(with.moves, between(with.lax, with.strict, t), rng)
		w.begin(w.worst() - floor)
		w.climbAll()
	}
}

// round makes so many random moves.
func (w *watch) round(moves int, keen float64, rng *rand.Rand) {
	var from float64
	var dear []int32
	var sums []float64
	for m := range moves {
		if m%renew == 0 {
			from = w.worst() - floor
			if len(w.labs)-w.grid > crowd {
				w.begin(from)
			}
			dear, sums = w.dear(dear, sums)
		}
		k := rng.IntN(len(w.of))
		if len(dear) > 0 && rng.Float64() < wanted {
			if near := w.slots[drawn(dear, sums, rng)]; len(near) > 0 {
				k = w.tabOf(int(near[rng.IntN(len(near))].at), rng)
			}
		}
		w.nudge(k, keen, from, rng)
	}
}

// dear lists the colours that have a price, and the sums of the prices so far.
func (w *watch) dear(list []int32, sums []float64) ([]int32, []float64) {
	list, sums = list[:0], sums[:0]
	sum := 0.0
	for i, d := range w.d {
		if price := w.price(d); price > 0 {
			sum += price
			list, sums = append(list, int32(i)), append(sums, sum)
		}
	}
	return list, sums
}

// drawn draws a colour by its price.
func drawn(dear []int32, sums []float64, rng *rand.Rand) int32 {
	n, _ := slices.BinarySearch(sums, rng.Float64()*sums[len(sums)-1])
	return dear[n]
}

// tabOf is a tab of an answer.
func (w *watch) tabOf(slot int, rng *rand.Rand) int {
	q := slot % most
	if rng.IntN(2) == 0 {
		q = slot / most % most
	}
	return w.groups[slot/most/most][q]
}

// nudge moves a tab at random if the price allows it; peaks count from a distance on.
func (w *watch) nudge(k int, keen, from float64, rng *rand.Rand) {
	to := w.tint(nudged(w.tints[w.of[k]].bytes, rng))
	if to == w.of[k] || !w.allowed(k, to) {
		return
	}
	w.propose(k, to)
	rise := w.total * math.Expm1(rng.ExpFloat64()/keen) // that chance allows
	change := w.try()
	if change <= rise && w.bringIn(from-look) {
		change = w.try()
	}
	if change <= rise && w.climbFrom(from) {
		change = w.try()
	}
	if change <= rise {
		w.keep(k, to, change)
	}
}

// nudged is a colour a byte away, or two, in some channels.
func nudged(t colour.SRGB, rng *rand.Rand) colour.SRGB {
	far := 1
	if rng.Float64() < longer {
		far = 2
	}
	by := func() uint8 { return uint8(rng.IntN(2*far+1) - far) }
	return colour.SRGB{R: t.R + by(), G: t.G + by(), B: t.B + by()}
}
