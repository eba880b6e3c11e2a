package history

import (
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Directed are the exercises that ask for directions, more, the same or less.
func Directed(kinds []*Kind) []*Kind {
	var list []*Kind
	for _, k := range kinds {
		if slices.ContainsFunc(k.Sittings, func(s *Sitting) bool { return len(s.directions) > 0 }) {
			list = append(list, k)
		}
	}
	return list
}

// Along gathers an exercise's directions along one attribute.
func (k *Kind) Along(attribute string) (list []scoring.Direction) {
	for _, s := range k.Sittings {
		for _, d := range s.directions {
			if d.Attribute == attribute {
				list = append(list, d)
			}
		}
	}
	return list
}

// DirectionAttributes are the attributes in the order of axes.
var DirectionAttributes = exercises.AttributeNames()

// BiasAlong is the bias behind the directions told along an attribute.
func (k *Kind) BiasAlong(attribute string) scoring.Estimate {
	var shown []float64
	var said []int
	for _, d := range k.Along(attribute) {
		shown, said = append(shown, d.Part), append(said, d.Said)
	}
	return trend.DirectionBias(shown, said, Level)
}
