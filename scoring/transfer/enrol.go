package transfer

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Enrolled says what an enrolment did.
type Enrolled struct {
	New     []string // people entered into the book
	Added   int      // put on the roster, new or not
	There   int      // on it already
	Roles   []string // people whose role was changed
	Changed []string // people who got another number or address
	Called  []string // people found by their number, who are called otherwise in the book
	Alike   []Named  // new people whose name looks like another one's
}

// Enrol puts people on the roster of a class: those whom the book knows by number or
// by name, and those whom it does not as new ones, entered at that time. Call it inside
// one transaction (see record.Book.Merge) to have all of them or none.
func Enrol(ctx context.Context, into record.Book, class scoring.ClassID, entries []Entry, at time.Time) (Enrolled, error) {
	var done Enrolled
	there := map[scoring.LearnerID]bool{}
	roster, err := into.Roster(ctx, class)
	if err != nil {
		return done, err
	}
	for _, l := range roster {
		there[l.ID] = true
	}
	numbered := map[string]scoring.Learner{}
	everybody, err := into.Learners(ctx)
	if err != nil {
		return done, err
	}
	for _, l := range everybody {
		if l.Number != "" {
			numbered[strings.ToLower(l.Number)] = l
		}
	}
	for _, e := range entries {
		before := len(done.New)
		who, err := done.person(ctx, into, e, numbered, at)
		if err != nil {
			return done, fmt.Errorf("%s: %w", e.Name, err)
		}
		if len(done.New) > before {
			if other, alike := record.LooksLike(who.Name, everybody); alike {
				done.Alike = append(done.Alike, Named{Here: other.Name, There: who.Name})
			}
			everybody = append(everybody, who)
		}
		if there[who.ID] {
			done.There++
			continue
		}
		there[who.ID] = true
		if err := into.Enrol(ctx, class, who.ID, at); err != nil {
			return done, err
		}
		done.Added++
	}
	return done, nil
}

// person finds whom a line means, or enters them.
func (done *Enrolled) person(ctx context.Context, into record.Book, e Entry, numbered map[string]scoring.Learner, at time.Time) (scoring.Learner, error) {
	who, known := numbered[strings.ToLower(e.Number)]
	if known = known && e.Number != ""; known {
		if record.NameKey(who.Name) != record.NameKey(e.Name) {
			done.Called = append(done.Called, fmt.Sprintf("%s (%s) is %s in the book", e.Name, e.Number, who.Name))
		}
	} else {
		var err error
		who, err = into.LearnerByName(ctx, e.Name)
		switch {
		case errors.Is(err, record.ErrAmbiguous) && e.Number != "": // somebody else of that name
		case errors.Is(err, record.ErrNotFound):
		case err != nil:
			return who, err
		default:
			// Two numbers tell two people of one name apart.
			known = e.Number == "" || who.Number == ""
		}
	}
	if !known {
		who, err := into.AddLearner(ctx, scoring.Learner{Name: e.Name, Number: e.Number, Email: e.Email, Role: e.Role, At: at})
		if err != nil {
			return who, err
		}
		done.New = append(done.New, who.Name)
		return who, nil
	}
	changed := who
	if e.Number != "" {
		changed.Number = e.Number
	}
	if e.Email != "" {
		changed.Email = e.Email
	}
	if changed.Email != who.Email || !strings.EqualFold(changed.Number, who.Number) {
		if _, err := into.ChangeLearner(ctx, changed, at); err != nil {
			return who, err
		}
		done.Changed = append(done.Changed, who.Name)
	}
	if e.Role != "" && e.Role != who.Role {
		if err := into.SetRole(ctx, who.ID, e.Role, at); err != nil {
			return who, err
		}
		done.Roles = append(done.Roles, who.Name)
	}
	return who, nil
}
