package colour

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"sync"
)

// standardObserver is one of the two standard observers of ISO/CIE 11664-1.
type standardObserver int

const (
	twoDegree standardObserver = iota // CIE 1931, for fields of 1–4°; all of this project's colours
	tenDegree                         // CIE 1964, for fields above 4°
)

// matching holds x̄, ȳ, z̄ on the grid.
type matching [3]gridded

//go:embed data/*.csv
var dataFiles embed.FS

// column reads a column of one of the embedded tables. Those are part of the
// program and are checked by its tests, so a fault in one is a fault in the
// program.
func column(file, name string) []float64 {
	opened, err := dataFiles.Open("data/" + file)
	if err != nil {
		panic(err)
	}
	defer opened.Close()
	reader := csv.NewReader(opened)
	reader.Comment = '#'
	records, err := reader.ReadAll()
	if err != nil {
		panic(err)
	}
	for i, title := range records[0] {
		if title != name {
			continue
		}
		values := make([]float64, len(records)-1)
		for j, record := range records[1:] {
			if values[j], err = strconv.ParseFloat(record[i], 64); err != nil {
				panic(fmt.Errorf("%s: %w", file, err))
			}
		}
		return values
	}
	panic(fmt.Errorf("%s has no column %s", file, name))
}

var observers = sync.OnceValue(func() (both [2]matching) {
	for i, names := range [2][3]string{{"x2", "y2", "z2"}, {"x10", "y10", "z10"}} {
		for j, name := range names {
			copy(both[i][j][:], column("observers.csv", name))
		}
	}
	return both
})

// weights turn a reflectance into tristimulus values under one light: the
// product of light and colour-matching functions, scaled so that a perfect white
// has Y = 1 (CIE 015:2018, equations 7.1–7.4).
type weights [3]gridded

func (o standardObserver) weights(power gridded) (w weights) {
	cmf := observers()[o]
	var y float64
	for i, s := range power {
		y += s * cmf[1][i]
	}
	for axis := range w {
		for i, s := range power {
			w[axis][i] = s * cmf[axis][i] / y
		}
	}
	return w
}

func (w *weights) xyz(reflectance *gridded) (c XYZ) {
	for i, r := range reflectance {
		c.X += w[0][i] * r
		c.Y += w[1][i] * r
		c.Z += w[2][i] * r
	}
	return c
}

// chromaticity returns the CIE x, y of a tristimulus value; 0, 0 for black.
func (c XYZ) chromaticity() (x, y float64) {
	sum := c.X + c.Y + c.Z
	if sum == 0 {
		return 0, 0
	}
	return c.X / sum, c.Y / sum
}
