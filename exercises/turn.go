package exercises

// inTurn says which of n things the trial of an ordinal is about: in every n
// trials each comes once, in an order of chance. It depends on the drill's seed
// and the ordinal only.
func (s Setup) inTurn(ordinal, n int) int {
	// The upper half of the second seed is apart from the source of every trial.
	round := s.chance(1<<63 + uint64(ordinal/n))
	return round.Perm(n)[ordinal%n]
}
