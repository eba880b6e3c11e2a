package items

import "math"

// Expected is the score that a player of rating a may expect against b on the Elo scale,
// 1/(1 + 10^((b−a)/400)) (Elo 1978, The Rating of Chessplayers).
func Expected(a, b float64) float64 { return 1 / (1 + math.Pow(10, (b-a)/400)) }

// Elo is the rating after games against opponents, scores 0 to 1 each, all judged by the
// rating before them. k is the most that one game can change, 32 as a rule. Games beyond
// the shorter of the two slices are not counted.
func Elo(rating, k float64, opponents, scores []float64) float64 {
	after := rating
	for i := range min(len(opponents), len(scores)) {
		after += k * (scores[i] - Expected(rating, opponents[i]))
	}
	return after
}

// Answered updates a learner's ability and an item's difficulty, both in logits, after one
// answer scored 0 to 1: a Rasch model that learns one step of size k at a time (Pelánek
// 2016, Comput Educ 98:169–179). It tells a practice plan what is now of the right
// difficulty; it has no interval, for that fit [Rasch].
func Answered(ability, difficulty, score, k float64) (newAbility, newDifficulty float64) {
	step := k * (score - RightProbability(ability, difficulty))
	return ability + step, difficulty - step
}

// RightProbability is 1/(1 + e^−(ability − difficulty)), both in logits.
func RightProbability(ability, difficulty float64) float64 {
	return 1 / (1 + math.Exp(difficulty-ability))
}
