package recordtest

import (
	"math/rand/v2"
	"reflect"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// texts are words as exercises write them, and words that formats trip over.
var texts = []string{"", "", "value", "L78 C16 h86", "between", "=1+1", "+7", "-x", "@a", `say "so", then`, "a,b;c", "Größe", "色合わせ", "'quoted", "{}", "null", "  two  spaces "}

// Fill sets every exported field that v points to, however deep, to something
// random that a book takes. A field added to a type later is filled too, so
// that no round trip can lose it unnoticed.
func Fill(v any, rng *rand.Rand) { fill(reflect.ValueOf(v).Elem(), rng) }

func fill(v reflect.Value, rng *rand.Rand) {
	switch v.Interface().(type) {
	case time.Time:
		v.Set(reflect.ValueOf(RandomTime(rng)))
		return
	case time.Duration:
		v.SetInt(rng.Int64N(int64(time.Minute)))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(texts[rng.IntN(len(texts))])
	case reflect.Bool:
		v.SetBool(rng.IntN(2) == 0)
	case reflect.Int:
		v.SetInt(int64(rng.IntN(5)) - 1)
	case reflect.Uint8:
		v.SetUint(uint64(rng.IntN(256)))
	case reflect.Uint64:
		v.SetUint(rng.Uint64())
	case reflect.Float64:
		switch rng.IntN(4) {
		case 0:
			v.SetFloat(0)
		case 1:
			v.SetFloat(float64(rng.IntN(100)))
		default:
			v.SetFloat(rng.NormFloat64() * 10)
		}
	case reflect.Pointer:
		if rng.IntN(2) == 0 {
			v.Set(reflect.New(v.Type().Elem()))
			fill(v.Elem(), rng)
		}
	case reflect.Slice:
		if n := rng.IntN(4); n > 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
			for i := range n {
				fill(v.Index(i), rng)
			}
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for range rng.IntN(3) {
			key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
			fill(key, rng)
			fill(value, rng)
			v.SetMapIndex(key, value)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() && v.Type().Field(i).Tag.Get("json") != "-" {
				fill(v.Field(i), rng)
			}
		}
	default:
		panic("recordtest: cannot fill " + v.Type().String())
	}
}

// RandomTime is some millisecond of the years 2001 to 2033.
func RandomTime(rng *rand.Rand) time.Time {
	return time.UnixMilli(1_000_000_000_000 + rng.Int64N(1_000_000_000_000)).UTC()
}

// RandomAttempt is an attempt that uses every field there is.
func RandomAttempt(s scoring.Sitting, ordinal int, rng *rand.Rand) scoring.Attempt {
	a := scoring.Attempt{Sitting: s.ID, Learner: s.Learner, At: RandomTime(rng)}
	Fill(&a.Trial, rng)
	Fill(&a.Answer, rng)
	a.Trial.Ordinal = ordinal
	a.Trial.Kind = []exercises.KindID{s.Setup.Kind, s.Setup.Kind, exercises.LineUp, "some-later-kind"}[rng.IntN(4)]
	return a
}

// RandomSitting is an unfinished sitting that uses every field there is.
func RandomSitting(l scoring.LearnerID, id scoring.SittingID, rng *rand.Rand) scoring.Sitting {
	var s scoring.Sitting
	Fill(&s, rng)
	s.ID, s.Learner, s.BegunAs, s.Ended, s.Left = id, l, "", time.Time{}, false
	s.Setup.Kind, s.Setup.SheetID = exercises.ValueFirst, ""
	for i := range s.Setup.Again {
		s.Setup.Again[i].Kind, s.Setup.Again[i].Ordinal = exercises.ValueFirst, i
	}
	s.Within = strings.TrimSpace(s.Within)
	s.Origin = scoring.Origin{Road: scoring.RoadImported, Book: "another-book", At: RandomTime(rng), Simulated: true}
	return s
}
