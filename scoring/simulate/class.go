package simulate

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Class is a class that the invented people form. Beside their plain drills they
// then measure a threshold, do one assignment and take one proficiency test.
type Class struct {
	Name string
	Test record.Form      // is laid down for the class
	Pass scoring.PassMark // of the assignment
}

// Character is what is peculiar in a person of a class: what an instructor
// should find.
type Character string

const (
	Steady    Character = "steady"
	Improving Character = "improving"
	Biased    Character = "biased"
	Stopped   Character = "stopped practising"
	Worsening Character = "worsening"
)

// Of ten people of a class so many are of each character, house choices: enough
// of each in a class of thirty, and the peculiar ones are few.
var tenCharacters = [10]Character{Steady, Improving, Biased, Steady, Stopped, Improving, Steady, Biased, Improving, Worsening}

// What makes a character, house choices: a bias beyond acceptability, else
// hardly any; half as much noise again at each doubling; a fortnight's silence
// at the usual pace.
const (
	leastBias, mostBias   = 2.2, 3.2
	hardlyBiased          = 0.3
	leastLoss, mostLoss   = 1.25, 1.5
	stoppedAfterOneOf     = 3 // the third part of the sittings
	thresholdTrials       = 60
	assignmentDueHour     = 15 // of its day; who sits down later is late
	thresholdAt           = 1  // the sitting, from 0, in which the threshold is measured
	leastSittingsOfCourse = 4
)

// become gives a person a character.
func (who *Person) become(c Character, sittings int, rng *rand.Rand) {
	o := &who.Observer
	slightly := func() float64 { return round((2*rng.Float64() - 1) * hardlyBiased) }
	between := func(lo, hi float64) float64 { return round(lo + rng.Float64()*(hi-lo)) }
	o.BiasL, o.BiasC, o.BiasH = slightly(), slightly(), slightly()
	who.Character, who.PerDoubling = c, 1
	switch c {
	case Improving:
		who.PerDoubling = between(bestGain, poorestGain)
		o.Noise = between((leastNoise+mostNoise)/2, mostNoise)
	case Biased:
		bias := between(leastBias, mostBias)
		if rng.IntN(2) == 0 {
			bias = -bias
		}
		*[]*float64{&o.BiasL, &o.BiasC, &o.BiasH}[rng.IntN(3)] = bias
	case Worsening:
		who.PerDoubling = between(leastLoss, mostLoss)
		o.Noise = between(leastNoise, (leastNoise+mostNoise)/2)
	case Stopped:
		who.StoppedAfter = max(1, sittings/stoppedAfterOneOf)
	}
}

// part is one drill of a sitting.
type part struct {
	suffix string // of the identifier
	setup  exercises.Setup
	within string
}

// course says what a class does in its nth sitting, nil for a plain drill. What
// is for everybody is at a fixed place, so that it comes at about the same day.
func (p Plan) course(who scoring.LearnerID, sitting int, chance *rand.Rand) []part {
	if p.Class == nil || p.Sittings < leastSittingsOfCourse {
		return nil
	}
	switch sitting {
	case thresholdAt:
		return []part{{setup: exercises.Setup{Kind: exercises.Threshold, Task: exercises.TaskDifferent, Count: thresholdTrials, Seed: chance.Uint64(),
			Options: map[string]string{exercises.OptionMethod: exercises.MethodQuestPlus}, Viewing: p.Setup.Viewing}}}
	case p.Sittings / 2:
		return partsOf(p.assignment().Set(), who)
	case p.Sittings - 1:
		return partsOf(p.test().Set(), who)
	}
	return nil
}

// partsOf are the drills of a set for one person.
func partsOf(set scoring.Set, who scoring.LearnerID) (list []part) {
	for i := range set.Parts {
		one := part{setup: set.SetupFor(i, who), within: set.Ref.String()}
		if len(set.Parts) > 1 {
			one.suffix = fmt.Sprintf("-%d", i+1)
		}
		list = append(list, one)
	}
	return list
}

// day is when the nth sitting comes round: two or three days after the one before.
func (p Plan) day(sitting int) time.Time { return p.From.AddDate(0, 0, sitting*5/2) }

func (p Plan) classID() scoring.ClassID {
	return scoring.ClassID(fmt.Sprintf("sim-%s-class-%d", p.mark(), max(p.First, 1)))
}

// assignment is the drill that the whole class is to do: that of every sitting,
// but with the same trials for all.
func (p Plan) assignment() scoring.Assignment {
	a := scoring.Assignment{ID: scoring.AssignmentID(string(p.classID()) + "-1"), Class: p.classID(), At: p.From, Pass: p.Class.Pass, Setup: p.Setup}
	a.Setup.Seed, a.Setup.Count = p.source(0, 0).Uint64(), p.Items
	a.Setup.Adaptive, a.Setup.Experience = false, nil
	if kind, err := exercises.ByID(a.Setup.Kind); err == nil {
		a.Setup.Version = kind.Version()
	}
	a.Due = p.day(p.Sittings / 2).Add(assignmentDueHour * time.Hour)
	return a
}

// test is the form that the class takes.
func (p Plan) test() record.Form {
	test := p.Class.Test
	test.Class = p.classID()
	return test
}

// found enters the class, its form and its assignment.
func (p Plan) found(ctx context.Context, book record.Book) error {
	if _, err := book.AddClass(ctx, scoring.Class{ID: p.classID(), Name: p.Class.Name, At: p.From}); err != nil {
		return err
	}
	if p.Sittings < leastSittingsOfCourse {
		return nil
	}
	if _, err := record.LayDown(ctx, book, p.test()); err != nil {
		return err
	}
	a := p.assignment()
	if a.Setup.Sheet != nil {
		if err := book.PutSheet(ctx, a.Setup.Sheet); err != nil {
			return err
		}
	}
	_, err := book.AddAssignment(ctx, a)
	return err
}

// sittings is how often a person sits down.
func (who Person) sittings(p Plan) int {
	if who.StoppedAfter > 0 {
		return who.StoppedAfter
	}
	return p.Sittings
}

// words say what the class does beside its plain drills.
func (c Class) words(p Plan) []string {
	if p.Sittings < leastSittingsOfCourse {
		return []string{fmt.Sprintf("Fewer than %d sittings leave no room for a threshold, an assignment and a proficiency test.", leastSittingsOfCourse)}
	}
	return []string{fmt.Sprintf("Sitting %d measures the threshold, sitting %d is the assignment due %s UTC, sitting %d the proficiency test, form %s.",
		thresholdAt+1, p.Sittings/2+1, p.assignment().Due.Format("2006-01-02 15:04"), p.Sittings, c.Test.Name)}
}
