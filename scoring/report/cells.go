package report

import "shadedrill/scoring"

// Estimate is a cell with two decimals, which is what ΔE00 is read to.
func Estimate(e scoring.Estimate) Estimated { return Decimals(e, 2) }

// Decimals is a cell with n decimals.
func Decimals(e scoring.Estimate, n int) Estimated {
	return Estimated{Estimate: e, Decimals: n}
}

// Signed is a cell that says + or −, with two decimals.
func Signed(e scoring.Estimate) Estimated {
	return Estimated{Estimate: e, Decimals: 2, Signed: true}
}

// Percent is the cell of a share.
func Percent(e scoring.Estimate) Estimated {
	return Estimated{Estimate: e, Percent: true}
}

// Share is the cell of a share that has no interval; the title of its column says %.
func Share(v float64, decimals int) Number {
	return Number{Value: v, Decimals: decimals, Percent: true}
}

// DeltaE is the cell of a difference in ΔE00 that has no interval.
func DeltaE(v float64) Number { return Number{Value: v, Decimals: 2} }

// AppendFilled adds those sections whose tables have rows.
func AppendFilled(list []Section, more ...Section) []Section {
	for _, s := range more {
		if s.Table != nil && len(s.Table.Rows) > 0 {
			list = append(list, s)
		}
	}
	return list
}
