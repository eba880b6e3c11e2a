package agreement

// meanSquares are those of the two-way analysis of variance of a complete table, items
// by raters, with one answer in each cell, in the letters of Shrout & Fleiss (1979),
// Psychol Bull 86:420–428.
type meanSquares struct {
	items    float64 // BMS, on items − 1
	raters   float64 // JMS ("judges"), on raters − 1
	residual float64 // EMS, on (items − 1)(raters − 1)
}

func twoWay(r Ratings) meanSquares {
	n, k := float64(len(r)), float64(len(r[0]))
	var grand, scale float64
	itemMean, raterMean := make([]float64, len(r)), make([]float64, len(r[0]))
	for i, row := range r {
		for j, v := range row {
			itemMean[i] += v / k
			raterMean[j] += v / n
			grand += v / (n * k)
			scale += v * v
		}
	}
	var between, judges, residual float64
	for _, m := range itemMean {
		between += k * sq(m-grand)
	}
	for _, m := range raterMean {
		judges += n * sq(m-grand)
	}
	for i, row := range r {
		for j, v := range row {
			residual += sq(v - itemMean[i] - raterMean[j] + grand)
		}
	}
	return meanSquares{
		items: clean(between, scale) / (n - 1), raters: clean(judges, scale) / (k - 1),
		residual: clean(residual, scale) / ((n - 1) * (k - 1)),
	}
}
