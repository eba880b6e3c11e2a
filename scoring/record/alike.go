package record

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"shadedrill/scoring"
)

// lookalikes are letters of the Greek and Cyrillic scripts that most typefaces draw as
// a Latin one. From memory, after the confusables.txt of Unicode Technical Standard 39;
// only letters, and only where both cases of a name keep the look.
var lookalikes = func() map[rune]rune {
	m := map[rune]rune{}
	for _, pair := range []struct{ other, latin string }{
		{"АВЕЅІЈКМНОРСТУХЗ", "ABESIJKMHOPCTYX3"}, {"аеѕіјорсухһԁԛԝ", "aesijopcyxhdqw"}, // Cyrillic
		{"ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX"}, {"αιονρυϲϳ", "aiovpucj"}, // Greek
	} {
		latin := []rune(pair.latin)
		for i, r := range []rune(pair.other) {
			m[r] = latin[i]
		}
	}
	return m
}()

// look is equal for names that look alike whatever scripts their letters are of.
func look(name string) string {
	return NameKey(strings.Map(func(r rune) rune {
		if latin, ok := lookalikes[r]; ok {
			return latin
		}
		return r
	}, clean(name)))
}

// LooksLike finds somebody whose name looks like another without reading like it,
// since one is written with letters of another script.
func LooksLike(name string, people []scoring.Learner) (scoring.Learner, bool) {
	key, looks := NameKey(name), look(name)
	plain := ascii(name)
	for _, p := range people {
		if plain && ascii(p.Name) {
			continue
		}
		if other := NameKey(p.Name); other != key && (looks != key || look(p.Name) != other) && look(p.Name) == looks {
			return p, true
		}
	}
	return scoring.Learner{}, false
}

func ascii(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool { return r >= utf8.RuneSelf })
}

// ToldApart gives people of one name their number behind it, so that two of them are not
// one in a report; everybody else is as they are.
func ToldApart(people []scoring.Learner) []scoring.Learner {
	of := map[string]int{}
	for _, p := range people {
		of[NameKey(p.Name)]++
	}
	list := slices.Clone(people)
	for i, p := range list {
		if of[NameKey(p.Name)] > 1 {
			list[i].Name = fmt.Sprintf("%s (%s)", p.Name, cmp.Or(p.Number, "no number"))
		}
	}
	return list
}
