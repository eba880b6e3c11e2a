package transfer

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"time"

	"github.com/google/uuid"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Learning records after IEEE 9274.1.1-2023 (xAPI 2.0): an array of statements,
// "this learner answered this question, so well". The verb is of the vocabulary
// that the xAPI profile of ADL publishes; everything else is named under a domain
// reserved for examples (RFC 2606), for a school to map to its own.
const (
	iri          = "https://shadedrill.example/"
	verbAnswered = "http://adlnet.gov/expapi/verbs/answered"
	typeQuestion = "http://adlnet.gov/expapi/activities/question"
	xapiVersion  = "2.0.0"
)

// statementSpace makes statement identifiers: the same attempt always has the
// same, so that a store which has seen it drops it.
var statementSpace = uuid.NewSHA1(uuid.NameSpaceURL, []byte(iri+"attempts"))

type statement struct {
	ID        string    `json:"id"`
	Actor     actor     `json:"actor"`
	Verb      verb      `json:"verb"`
	Object    object    `json:"object"`
	Result    result    `json:"result"`
	Context   situation `json:"context"`
	Timestamp string    `json:"timestamp"`
	Version   string    `json:"version"`
}

type actor struct {
	ObjectType string  `json:"objectType"`
	Name       string  `json:"name,omitempty"`
	Account    account `json:"account"`
}

type account struct {
	HomePage string `json:"homePage"`
	Name     string `json:"name"`
}

type verb struct {
	ID      string            `json:"id"`
	Display map[string]string `json:"display"`
}

type object struct {
	ObjectType string     `json:"objectType"`
	ID         string     `json:"id"`
	Definition definition `json:"definition"`
}

type definition struct {
	Type string            `json:"type"`
	Name map[string]string `json:"name"`
}

type result struct {
	Score      *score             `json:"score,omitempty"`
	Success    *bool              `json:"success,omitempty"`
	Response   string             `json:"response,omitempty"`
	Duration   string             `json:"duration,omitempty"`
	Extensions map[string]float64 `json:"extensions,omitempty"`
}

type score struct {
	Scaled float64 `json:"scaled"`
	Raw    float64 `json:"raw"`
	Min    float64 `json:"min"`
	Max    float64 `json:"max"`
}

type situation struct {
	Registration string `json:"registration"`
	Platform     string `json:"platform"`
	Language     string `json:"language"`
}

func exportXAPI(ctx context.Context, book Source, filters []record.Filter, to *bufio.Writer, lines bool) error {
	separator := "[\n"
	for row, err := range rows(ctx, book, filters) {
		if err != nil {
			return err
		}
		b, err := json.Marshal(statementOf(row))
		if err != nil {
			return err
		}
		if lines {
			to.Write(append(b, '\n'))
			continue
		}
		fmt.Fprintf(to, "%s%s", separator, b)
		separator = ",\n"
	}
	if lines {
		return nil
	}
	if separator == "[\n" {
		to.WriteString("[")
	}
	_, err := to.WriteString("\n]\n")
	return err
}

func statementOf(w whole) statement {
	a, m := w.attempt, w.mark
	s := statement{
		ID: uuid.NewSHA1(statementSpace, []byte(a.ID())).String(),
		Actor: actor{ObjectType: "Agent", Name: w.name,
			Account: account{HomePage: iri + "learners", Name: string(a.Learner)}},
		Verb: verb{ID: verbAnswered, Display: map[string]string{"en-GB": "answered"}},
		Object: object{ObjectType: "Activity", ID: iri + "kinds/" + string(a.Trial.Kind),
			Definition: definition{Type: typeQuestion, Name: map[string]string{"en-GB": string(a.Trial.Kind)}}},
		Context: situation{Registration: uuid.NewSHA1(statementSpace, []byte(a.Sitting)).String(),
			Platform: "shadedrill", Language: "en-GB"},
		Timestamp: a.At.UTC().Format(clock),
		Version:   xapiVersion,
	}
	s.Result.Response = response(a)
	s.Result.Duration = duration(a.Answer.Total)
	s.Result.Score, s.Result.Success = worth(w)
	if m.HasColour {
		s.Result.Extensions = map[string]float64{iri + "xapi/dE00": sixPlaces(m.Difference.E), iri + "xapi/dL": sixPlaces(m.Difference.L),
			iri + "xapi/dC": sixPlaces(m.Difference.C), iri + "xapi/dH": sixPlaces(m.Difference.H)}
	}
	return s
}

// worth is what an answer was worth, by the marks that grades and tests go by.
// Where each judgement of it counts for itself (Singly in [scoring.Rules]) the score is how
// many of them are right, and as a whole the answer is neither right nor wrong.
// Elsewhere the score is that of training, 10 for the nearest tab, and success says
// whether the answer was right; it is absent where nothing is right or wrong.
func worth(w whole) (*score, *bool) {
	kind, m := w.attempt.Trial.Kind, w.mark
	if scoring.RulesOf(kind).Singly {
		var points score
		for c := range w.in.Judgements(m, kind) {
			points.Max++
			if c.Right {
				points.Raw++
			}
		}
		if points.Max == 0 {
			return nil, nil
		}
		points.Scaled = points.Raw / points.Max
		return &points, nil
	}
	var points *score
	if m.HasSheet {
		points = &score{Scaled: float64(m.Points) / 10, Raw: float64(m.Points), Max: 10}
	}
	for c := range w.in.Judgements(m, kind) {
		return points, &c.Right
	}
	return points, nil
}

// sixPlaces rounds as the other formats do: see decimal.
func sixPlaces(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func response(a scoring.Attempt) string {
	g := a.Answer
	switch {
	case g.Tab != "" && g.Neighbour != "":
		return "between " + g.Tab + " and " + g.Neighbour
	case g.Tab != "":
		return g.Tab
	case g.Choice != "":
		return g.Choice
	case g.Number != nil:
		return strconv.FormatFloat(*g.Number, 'g', -1, 64)
	case g.Colour != nil:
		return g.Colour.Hex()
	}
	return ""
}

// duration is ISO 8601, to a hundredth of a second as xAPI asks.
func duration(d time.Duration) string {
	if d <= 0 {
		return ""
	}
	return "PT" + strconv.FormatFloat(d.Seconds(), 'f', 2, 64) + "S"
}
