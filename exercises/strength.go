package exercises

import (
	"math"
	"time"
)

// Skill fades, and lasts longer the more often it was called up in time. How much of it
// is left after a while is taken from half-life regression (B. Settles and B. Meeder, "A
// trainable spaced repetition model for language learning", Proceedings of the ACL 2016,
// 1848–1858): after Δ days the share p = 2^(−Δ/h) is left. There the half-life h is
// fitted to millions of lessons; here it grows by house rule with each day of practice,
// more where answers were right and quick: perceptual categories are learnt faster when
// what comes next is chosen from accuracy and response time, with spacing that grows
// with strength (Mettler & Kellman 2014, Vision Res 99:111–123).
const (
	firstHalfLife = 3.0 // days, after the first day of practice
	growsQuick    = 2.0 // times, after a day of right and quick answers
	growsRight    = 1.5 // after one of right answers
	growsWrong    = 0.8
	leastHalfLife = 1.0
	mostHalfLife  = 90.0
	// A day went right from so many right answers on: levels aim at 85 %.
	rightDay = 0.75
	// What was right and quick on so many days running, at the usual level, is mastered.
	masteredDays = 3
)

// PracticeDay is what a learner did in one exercise on one day.
type PracticeDay struct {
	Start     time.Time // of the day
	Right, Of float64
	Quick     bool // half of the answers took no longer than [Traits.Seconds]
	Level     int  // the highest asked; 0 where the exercise has none
}

func (d PracticeDay) right() bool { return d.Of > 0 && d.Right >= rightDay*d.Of }

// lasts is how many days half of what was gained lasts.
func lasts(days []PracticeDay) float64 {
	h := firstHalfLife
	for _, d := range days[min(1, len(days)):] {
		switch {
		case d.Of == 0:
			continue
		case d.right() && d.Quick:
			h *= growsQuick
		case d.right():
			h *= growsRight
		default:
			h *= growsWrong
		}
		h = max(leastHalfLife, min(mostHalfLife, h))
	}
	return h
}

// Retained is the share of what practice gained that is left so many days after the last
// of some days of practice.
func Retained(since float64, days []PracticeDay) float64 {
	return math.Exp2(-max(0, since) / lasts(days))
}

// mastered reports whether the last days were all right and quick at the usual level.
func mastered(kind KindID, days []PracticeDay) bool {
	if len(days) < masteredDays {
		return false
	}
	for _, d := range days[len(days)-masteredDays:] {
		if !d.right() || !d.Quick || d.Level < UsualLevel(kind) {
			return false
		}
	}
	return true
}
