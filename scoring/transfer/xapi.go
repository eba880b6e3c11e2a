package transfer

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Learning records after the Experience API 1.0.3 (IEEE 9274.1.1): statements such as
// "this learner answered this question, so well". Verbs and types of activities are of
// the vocabulary that ADL publishes [identifiers from memory]; everything else is named
// under a domain reserved for examples (RFC 2606), for a school to map to its own. No
// statement says which version it is of: providers should not (2.4.10).
const (
	iri       = "https://shadedrill.example/"
	verbs     = "http://adlnet.gov/expapi/verbs/"
	types     = "http://adlnet.gov/expapi/activities/"
	simulated = iri + "xapi/simulated"
)

// statementSpace makes statement identifiers: the same attempt always has the
// same, so that a store which has seen it drops it. They are name-based UUIDs (RFC 9562,
// version 5), by a library that keeps to it.
var statementSpace = uuid.NewSHA1(uuid.NameSpaceURL, []byte(iri+"statements/2"))

// Statements say how learning records are written.
type Statements struct {
	// Lines puts a statement on each line; otherwise they are an array.
	Lines bool
	// HomePage is whose accounts people have: they are named by their own numbers there,
	// where they have one. Without, by the identifiers of the book.
	HomePage string
	// Verdicts holds, of sittings that were held against a pass mark, what came of it.
	Verdicts map[scoring.SittingID]scoring.Verdict
}

type statement struct {
	ID        string    `json:"id"`
	Actor     actor     `json:"actor"`
	Verb      verb      `json:"verb"`
	Object    object    `json:"object"`
	Result    *result   `json:"result,omitempty"`
	Context   situation `json:"context"`
	Timestamp string    `json:"timestamp"`
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
	Type            string            `json:"type"`
	Name            map[string]string `json:"name"`
	InteractionType string            `json:"interactionType,omitempty"`
}

type result struct {
	Score      *score             `json:"score,omitempty"`
	Success    *bool              `json:"success,omitempty"`
	Completion *bool              `json:"completion,omitempty"`
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
	Registration string              `json:"registration"`
	Activities   map[string][]object `json:"contextActivities,omitempty"`
	Platform     string              `json:"platform"`
	Language     string              `json:"language"`
	Extensions   map[string]bool     `json:"extensions,omitempty"`
}

// ExportStatements writes the attempts that the filter lets through as learning records,
// with the beginning and the end of the drills that they are of.
func ExportStatements(ctx context.Context, book Source, f record.Filter, to io.Writer, how Statements) error {
	out := bufio.NewWriterSize(to, 1<<16)
	separator := "[\n"
	put := func(list ...statement) error {
		for _, s := range list {
			b, err := json.Marshal(s)
			if err != nil {
				return err
			}
			if how.Lines {
				out.Write(append(b, '\n'))
				continue
			}
			fmt.Fprintf(out, "%s%s", separator, b)
			separator = ",\n"
		}
		return nil
	}
	var of *drillOf
	for row, err := range rows(ctx, book, []record.Filter{f}) {
		if err != nil {
			return err
		}
		if row.sitting != nil {
			if err := put(of.end(f, how)...); err != nil {
				return err
			}
			of = newDrillOf(row, how)
			if err := put(of.begin(f)...); err != nil {
				return err
			}
		}
		if err := put(of.answered(row)); err != nil {
			return err
		}
	}
	if err := put(of.end(f, how)...); err != nil {
		return err
	}
	if !how.Lines {
		if separator == "[\n" {
			out.WriteString("[")
		}
		out.WriteString("\n]\n")
	}
	return out.Flush()
}

// drillOf is the sitting whose statements are being written.
type drillOf struct {
	id      scoring.SittingID
	sitting *sittingData
	whole   object // the drill: what a class was given, or the exercise
	kind    object
	shared  bool // others have the same items
	plain   statement
}

func newDrillOf(first whole, how Statements) *drillOf {
	a, s := first.attempt, first.sitting
	d := &drillOf{id: a.Sitting, sitting: s, kind: activity("kinds/"+url.PathEscape(string(s.Setup.Kind)), "lesson", string(s.Setup.Kind))}
	d.whole = d.kind
	if ref, ok := scoring.ParseSetRef(s.Within); ok {
		ref.Take, d.shared = 0, true
		name := url.PathEscape(ref.Name)
		if ref.Print != "" {
			name += "." + ref.Print
		}
		called := ref.Name
		if ref.Kind == scoring.AssignmentSet {
			called = ref.Code()
		}
		d.whole = activity(string(ref.Kind)+"/"+name, "assessment", ref.Kind.Words().Noun+" "+called)
	}
	who := actor{ObjectType: "Agent", Name: first.name, Account: account{HomePage: iri + "learners", Name: string(a.Learner)}}
	if how.HomePage != "" {
		who.Account.HomePage = how.HomePage
		if s.Number != "" {
			who.Account.Name = s.Number
		}
	}
	d.plain = statement{Actor: who, Object: d.whole, Context: situation{Registration: uuid.NewSHA1(statementSpace, []byte(a.Sitting)).String(),
		Platform: "shadedrill", Language: "en-GB"}}
	if d.shared {
		d.plain.Context.Activities = map[string][]object{"grouping": {d.kind}}
	}
	if s.Simulated {
		d.plain.Context.Extensions = map[string]bool{simulated: true}
	}
	return d
}

func activity(path, kind, name string) object {
	return object{ObjectType: "Activity", ID: iri + path, Definition: definition{Type: types + kind, Name: map[string]string{"en-GB": name}}}
}

// says makes a statement of the drill; of is what tells it from the others of it.
func (d *drillOf) says(did, of string, at time.Time) statement {
	s := d.plain
	s.ID = uuid.NewSHA1(statementSpace, []byte(of)).String()
	shown := did
	if did == "initialized" {
		shown = "started"
	}
	s.Verb = verb{ID: verbs + did, Display: map[string]string{"en-GB": shown}}
	s.Timestamp = at.UTC().Format(clock)
	return s
}

func asked(f record.Filter, at time.Time) bool {
	return !at.IsZero() && !at.Before(f.From) && (f.To.IsZero() || at.Before(f.To))
}

func (d *drillOf) begin(f record.Filter) []statement {
	if !asked(f, d.sitting.Started) {
		return nil
	}
	return []statement{d.says("initialized", string(d.id)+" initialized", d.sitting.Started)}
}

// end says that the drill was done to its end, and whether that passed. One that was
// left, or goes on, is not completed.
func (d *drillOf) end(f record.Filter, how Statements) (list []statement) {
	if d == nil || d.sitting.Left || !asked(f, d.sitting.Ended) {
		return nil
	}
	yes := true
	s := d.says("completed", string(d.id)+" completed", d.sitting.Ended)
	s.Result = &result{Completion: &yes, Duration: duration(d.sitting.Ended.Sub(d.sitting.Started))}
	list = append(list, s)
	if verdict, held := how.Verdicts[d.id]; held {
		// What comes of a later decision is a further statement of a later time: passed,
		// failed and passed again are three, of which the last holds.
		did, at, since := map[bool]string{true: "passed", false: "failed"}[verdict.Passed], d.sitting.Ended, ""
		if verdict.Since.After(at) {
			at, since = verdict.Since, " "+verdict.Since.UTC().Format(clock)
		}
		s := d.says(did, string(d.id)+" "+did+since, at)
		s.Result = &result{Completion: &yes, Success: &verdict.Passed}
		list = append(list, s)
	}
	return list
}

func (d *drillOf) answered(w whole) statement {
	a, m := w.attempt, w.mark
	s := d.says("answered", a.ID(), a.At)
	s.Object = d.item(a.Trial)
	groups := map[string][]object{"parent": {d.whole}}
	if d.shared {
		groups["grouping"] = []object{d.kind}
	}
	s.Context.Activities = groups
	s.Result = &result{Response: response(a), Duration: duration(a.Answer.Total)}
	s.Result.Score, s.Result.Success = worth(w)
	if m.HasColour {
		s.Result.Extensions = map[string]float64{iri + "xapi/dE00": sixPlaces(m.Difference.E), iri + "xapi/dL": sixPlaces(m.Difference.L),
			iri + "xapi/dC": sixPlaces(m.Difference.C), iri + "xapi/dH": sixPlaces(m.Difference.H)}
	}
	return s
}

// item names a question: one that others have as well under what they share, one of
// somebody's own practice under the sitting.
func (d *drillOf) item(t exercises.Trial) object {
	under := "sittings/" + string(d.id)
	if d.shared {
		under = strings.TrimPrefix(d.whole.ID, iri)
	}
	name := t.Item
	if name == "" {
		name = fmt.Sprintf("%03d", t.Ordinal+1)
	}
	path := under + "/items/" + url.PathEscape(name)
	if t.Part != "" {
		path += "/" + url.PathEscape(t.Part)
		name += " " + t.Part
	}
	o := activity(path, "cmi.interaction", fmt.Sprintf("%s, item %s", t.Kind, name))
	o.Definition.InteractionType = "other"
	return o
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
		points = &score{Scaled: float64(m.Points()) / 10, Raw: float64(m.Points()), Max: 10}
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
