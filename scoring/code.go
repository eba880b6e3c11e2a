package scoring

import "crypto/sha256"

// codeLetters make no words in any language that writes with them, and none is easily
// taken for another.
const codeLetters = "bcdfghjkmnpqrstvwxz"

// Code is a short name for an assignment that is the same in every book, which its
// number need not be: five letters made from its identifier. Among a hundred
// assignments two have the same in one case of five hundred; then their numbers tell
// them apart.
func (a Assignment) Code() string { return codeOf(string(a.ID)) }

// Code is that of an assignment, for which the reference stands; empty for any other set.
func (r SetRef) Code() string {
	if r.Kind != AssignmentSet {
		return ""
	}
	return codeOf(r.Name)
}

func codeOf(id string) string {
	sum := sha256.Sum256([]byte(id))
	code := make([]byte, 5)
	for i := range code {
		// Two bytes a letter: the first letters are more frequent by 1 in 3,000 only.
		code[i] = codeLetters[(int(sum[2*i])<<8|int(sum[2*i+1]))%len(codeLetters)]
	}
	return string(code)
}
