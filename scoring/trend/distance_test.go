package trend

import (
	"math"
	"testing"
)

// Half of what is seen with a scatter σ along three axes lies within 1.538 σ (the median
// of a chi distribution of three degrees of freedom, from standard tables); a bias as
// large as b in one axis and no scatter lies at b.
func TestSeenDistance(t *testing.T) {
	for _, c := range []struct{ bias, scatter, want float64 }{{0, 1, 1.5382}, {0, 0.7, 1.0767}, {2, 0.01, 2}} {
		at := [2]parameters{{c.bias, math.Log(c.scatter)}, {0, 0, math.Log(c.scatter), math.Log(c.scatter)}}
		if d := seenDistance(at); math.Abs(d-c.want) > 0.01*c.want {
			t.Errorf("bias %.1f, scatter %.2f: half within %.4f, want %.4f", c.bias, c.scatter, d, c.want)
		}
	}
}
