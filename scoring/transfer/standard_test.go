package transfer

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// The rules of the Experience API 1.0.3, Part Two (Data), as a check of JSON. The
// number of the section stands beside each.
type standard struct{ faults []string }

func (c *standard) fault(section, format string, args ...any) {
	c.faults = append(c.faults, section+": "+fmt.Sprintf(format, args...))
}

// property is what a table of the standard says of one.
type property struct {
	required bool
	check    func(c *standard, section string, v any)
}

var (
	uuidForm     = regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`) // 4.4, RFC 4122 variant 2
	languageForm = regexp.MustCompile(`^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$`)                                       // 4.2, RFC 5646
	durationForm = regexp.MustCompile(`^P(\d+W|(\d+Y)?(\d+M)?(\d+D)?(T(\d+H)?(\d+M)?(\d+(\.\d+)?S)?)?)$`)          // 4.6, ISO 8601
)

func (c *standard) object(section string, v any, table map[string]property) map[string]any {
	o, ok := v.(map[string]any)
	if !ok {
		c.fault("2.2", "%s is no object: %v", section, v)
		return nil
	}
	for key, value := range o {
		switch p, known := table[key]; {
		case value == nil:
			c.fault("2.2", "null in %s", key)
		case !known:
			c.fault("2.2", "%q is not allowed in section %s", key, section)
		default:
			p.check(c, section, value)
		}
	}
	for key, p := range table {
		if _, there := o[key]; p.required && !there {
			c.fault(section, "%q is required", key)
		}
	}
	return o
}

func text1(c *standard, section string, v any) {
	if s, ok := v.(string); !ok || s == "" {
		c.fault(section, "%v is no text", v)
	}
}

func truth(c *standard, section string, v any) {
	if _, ok := v.(bool); !ok {
		c.fault("2.2", "%v is no boolean (%s)", v, section)
	}
}

func number(c *standard, section string, v any) {
	if _, ok := v.(float64); !ok {
		c.fault("2.2", "%v is no number (%s)", v, section)
	}
}

func of(form *regexp.Regexp, where string) func(*standard, string, any) {
	return func(c *standard, section string, v any) {
		if s, ok := v.(string); !ok || !form.MatchString(s) {
			c.fault(where, "%q has not the form that section %s asks", v, section)
		}
	}
}

// identifier is an IRI or IRL: 4.3, and 2.2 asks for a scheme.
func identifier(c *standard, section string, v any) {
	s, _ := v.(string)
	u, err := url.Parse(s)
	if err != nil || u.Scheme == "" || u.Host == "" || strings.ContainsAny(s, " <>\"{}|\\^`") {
		c.fault("4.3", "%q is no IRI (%s)", v, section)
	}
}

func languageMap(c *standard, section string, v any) { // 4.2
	o, ok := v.(map[string]any)
	if !ok || len(o) == 0 {
		c.fault("4.2", "%v is no language map (%s)", v, section)
	}
	for tag, words := range o {
		of(languageForm, "4.2")(c, section, tag)
		text1(c, section, words)
	}
}

func extensions(c *standard, section string, v any) { // 4.1
	o, ok := v.(map[string]any)
	if !ok || len(o) == 0 {
		c.fault("4.1", "%v are no extensions (%s)", v, section)
	}
	for key := range o {
		identifier(c, "4.1", key)
	}
}

func word(words ...string) func(*standard, string, any) {
	return func(c *standard, section string, v any) {
		if s, ok := v.(string); !ok || !slices.Contains(words, s) {
			c.fault(section, "%v is none of %v", v, words)
		}
	}
}

func (c *standard) agent(v any) { // 2.4.2.1, 2.4.2.3, 2.4.2.4
	o := c.object("2.4.2.1", v, map[string]property{"objectType": {false, word("Agent")}, "name": {false, text1},
		"mbox": {false, text1}, "mbox_sha1sum": {false, text1}, "openid": {false, text1},
		"account": {false, func(c *standard, _ string, v any) {
			c.object("2.4.2.4", v, map[string]property{"homePage": {true, identifier}, "name": {true, text1}})
		}}})
	n := 0
	for _, key := range []string{"mbox", "mbox_sha1sum", "openid", "account"} {
		if _, there := o[key]; there {
			n++
		}
	}
	if n != 1 {
		c.fault("2.4.2.1", "%d identifiers of an agent, not exactly one", n)
	}
}

func (c *standard) activity(v any) { // 2.4.4.1
	c.object("2.4.4.1", v, map[string]property{"objectType": {false, word("Activity")}, "id": {true, identifier},
		"definition": {false, func(c *standard, section string, v any) {
			o := c.object(section, v, map[string]property{"name": {false, languageMap}, "description": {false, languageMap}, "type": {false, identifier},
				"moreInfo": {false, identifier}, "extensions": {false, extensions},
				"interactionType": {false, word("true-false", "choice", "fill-in", "long-fill-in", "matching", "performance", "sequencing", "likert", "numeric", "other")}})
			if _, interaction := o["interactionType"]; interaction && o["type"] != "http://adlnet.gov/expapi/activities/cmi.interaction" {
				c.fault("2.4.4.1", "an interaction of the type %v", o["type"])
			}
		}}})
}

func (c *standard) result(v any) { // 2.4.5
	c.object("2.4.5", v, map[string]property{"success": {false, truth}, "completion": {false, truth}, "response": {false, text1},
		"duration": {false, of(durationForm, "4.6")}, "extensions": {false, extensions},
		"score": {false, func(c *standard, _ string, v any) { // 2.4.5.1
			o := c.object("2.4.5.1", v, map[string]property{"scaled": {false, number}, "raw": {false, number}, "min": {false, number}, "max": {false, number}})
			get := func(key string, none float64) float64 {
				if x, ok := o[key].(float64); ok {
					return x
				}
				return none
			}
			low, high := get("min", -1e300), get("max", 1e300)
			if x := get("scaled", 0); x < -1 || x > 1 {
				c.fault("2.4.5.1", "scaled is %v", x)
			}
			if x := get("raw", low); x < low || x > high || low >= high {
				c.fault("2.4.5.1", "raw %v of %v to %v", x, low, high)
			}
		}}})
}

func (c *standard) context(v any) { // 2.4.6
	list := func(c *standard, section string, v any) { // 2.4.6.2: should be arrays
		all, ok := v.([]any)
		if !ok || len(all) == 0 {
			c.fault("2.4.6.2", "%v is no array of activities", v)
		}
		for _, a := range all {
			c.activity(a)
		}
	}
	c.object("2.4.6", v, map[string]property{"registration": {false, of(uuidForm, "4.4")}, "platform": {false, text1}, "revision": {false, text1},
		"language": {false, of(languageForm, "4.2")}, "extensions": {false, extensions},
		"contextActivities": {false, func(c *standard, _ string, v any) {
			c.object("2.4.6.2", v, map[string]property{"parent": {false, list}, "grouping": {false, list}, "category": {false, list}, "other": {false, list}})
		}}})
}

// checkStatements holds an array of statements against the standard.
func checkStatements(t testing.TB, text []byte) []string {
	t.Helper()
	var all []any
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	c := &standard{}
	ids := map[any]bool{}
	for _, s := range all {
		o := c.object("2.4", s, map[string]property{
			"id": {true, of(uuidForm, "2.4.1")}, "actor": {true, func(c *standard, _ string, v any) { c.agent(v) }},
			"verb": {true, func(c *standard, _ string, v any) {
				c.object("2.4.3", v, map[string]property{"id": {true, identifier}, "display": {true, languageMap}})
			}},
			"object": {true, func(c *standard, _ string, v any) { c.activity(v) }}, "result": {false, func(c *standard, _ string, v any) { c.result(v) }},
			"context":   {false, func(c *standard, _ string, v any) { c.context(v) }},
			"timestamp": {true, func(c *standard, _ string, v any) { timeOf(c, v) }}, // 2.4.7; of 2.4.10 providers should not set a version
		})
		if ids[o["id"]] {
			c.fault("2.4.1", "two statements have the identifier %v", o["id"])
		}
		ids[o["id"]] = true
	}
	return c.faults
}

func timeOf(c *standard, v any) { // 4.5: RFC 3339, with a zone, to the millisecond
	s, _ := v.(string)
	if _, err := time.Parse(time.RFC3339Nano, s); err != nil || !regexp.MustCompile(`\.\d{3,}`).MatchString(s) {
		c.fault("4.5", "%q is no time to the millisecond", v)
	}
}

// assigned is a book in which three people did an assignment, one of them simulated and
// one of a hostile name, and one practised; one left a drill.
func assignedBook(t *testing.T) (*record.Memory, map[scoring.SittingID]scoring.Verdict) {
	t.Helper()
	ctx := context.Background()
	book := fixed(t)
	class, err := book.AddClass(ctx, scoring.Class{Name: "Spring", At: start})
	if err != nil {
		t.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	tabs, err := book.Sitting(ctx, "tabs")
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := book.Sheet(ctx, tabs.Setup.SheetID)
	if err != nil {
		t.Fatal(err)
	}
	a, err := book.AddAssignment(ctx, scoring.Assignment{ID: "A-one", Class: class.ID, At: start, Due: start.Add(time.Hour), Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2},
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 3, Targets: exercises.NaturalTargets, Sheet: sheet}})
	if err != nil {
		t.Fatal(err)
	}
	verdicts := map[scoring.SittingID]scoring.Verdict{}
	for i, p := range []scoring.Learner{{ID: "bo", Name: `=cmd|' /C calc'!A0 </script><b>"Bo"`, Number: "4711"}, {ID: "cy", Name: "Cy"}, {ID: "dee", Name: "Dee", Simulated: true}} {
		p.At = start
		who, err := book.AddLearner(ctx, p)
		if err != nil {
			t.Fatal(err)
		}
		if err := book.Enrol(ctx, class.ID, who.ID, start); err != nil {
			t.Fatal(err)
		}
		at := start.Add(time.Duration(i) * time.Minute)
		d, err := record.Take(ctx, book, a.Set(), who, scoring.DisplayCheck{}, func() time.Time { at = at.Add(time.Second); return at })
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, 2))
		for range 3 - i/2 { // the last leaves it
			trial, _ := d.Trial()
			if _, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, observer.Observer{Noise: 1}, rng)); err != nil {
				t.Fatal(err)
			}
		}
		if err := d.End(ctx, i == 2); err != nil {
			t.Fatal(err)
		}
		if i < 2 {
			verdicts[d.Sitting().ID] = scoring.Verdict{Passed: i == 0}
		}
	}
	return book, verdicts
}

func statementsOf(t *testing.T, book Source, how Statements) ([]statement, []byte) {
	t.Helper()
	var b bytes.Buffer
	if err := ExportStatements(context.Background(), book, record.Filter{}, &b, how); err != nil {
		t.Fatal(err)
	}
	var list []statement
	if err := json.Unmarshal(b.Bytes(), &list); err != nil {
		t.Fatal(err)
	}
	return list, b.Bytes()
}

func TestStatementsKeepTheStandard(t *testing.T) {
	book, verdicts := assignedBook(t)
	list, text := statementsOf(t, book, Statements{Verdicts: verdicts, HomePage: "https://lms.example.org"})
	if faults := checkStatements(t, text); len(faults) > 0 {
		t.Errorf("against the standard:\n%s", strings.Join(faults, "\n"))
	}
	verbsOf, items := map[string][]string{}, map[string]map[string]bool{}
	for _, s := range list {
		verbsOf[s.Actor.Account.Name] = append(verbsOf[s.Actor.Account.Name], strings.TrimPrefix(s.Verb.ID, verbs))
		if s.Actor.Account.HomePage != "https://lms.example.org" {
			t.Errorf("the account is one of %s", s.Actor.Account.HomePage)
		}
		if made := s.Actor.Account.Name == "dee" || s.Actor.Account.Name == "ada"; s.Context.Extensions[simulated] != made {
			t.Errorf("%s is said to be simulated: %v", s.Actor.Name, s.Context.Extensions)
		}
		if s.Verb.ID == verbs+"answered" && s.Actor.Account.Name != "ada" {
			if items[s.Object.ID] == nil {
				items[s.Object.ID] = map[string]bool{}
			}
			items[s.Object.ID][s.Actor.Account.Name] = true
			if p := s.Context.Activities["parent"]; len(p) != 1 || p[0].ID != iri+"assignment/A-one" {
				t.Errorf("an answer of %v", p)
			}
		}
	}
	for who, want := range map[string]string{"4711": "initialized answered answered answered completed passed", "cy": "initialized answered answered answered completed failed",
		"dee": "initialized answered answered"} {
		if got := strings.Join(verbsOf[who], " "); got != want {
			t.Errorf("%s: %s, want %s", who, got, want)
		}
	}
	if len(items) != 3 || len(items[iri+"assignment/A-one/items/002"]) != 3 {
		t.Errorf("the items of everybody: %v", items)
	}
	// A line each holds the same.
	var b bytes.Buffer
	if err := ExportStatements(context.Background(), book, record.Filter{}, &b, Statements{Verdicts: verdicts, HomePage: "https://lms.example.org", Lines: true}); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	if got := "[\n" + strings.Join(lines, ",\n") + "\n]\n"; got != string(text) || strings.Contains(b.String(), "<") {
		t.Errorf("lines and array differ, or a name is no data:\n%s", got)
	}
	// The check itself: what breaks a rule is found.
	for rule, change := range map[string][2]string{
		"2.4.1": {`"id":"`, `"id":"x`}, "2.2": {`"platform":"shadedrill"`, `"platform":null`}, "4.3": {`"homePage":"https:`, `"homePage":"`}, "4.6": {`"duration":"PT`, `"duration":"`},
		"4.5": {`"timestamp":"2026`, `"timestamp":"26`}, "4.2": {`"language":"en-GB"`, `"language":"english"`}, "2.4.5.1": {`"raw":`, `"raw":1`},
	} {
		if faults := checkStatements(t, []byte(strings.Replace(string(text), change[0], change[1], 1))); !slices.ContainsFunc(faults, func(f string) bool { return strings.HasPrefix(f, rule) }) {
			t.Errorf("what breaks %s is not found: %v", rule, faults)
		}
	}
}

// A grade that a later decision turns over, and a further one back again: three statements
// of three times, so that a store which keeps the first two takes the third.
func TestAGradeTurnedOverTwiceIsThreeStatements(t *testing.T) {
	book, verdicts := assignedBook(t)
	var who scoring.SittingID
	for id, v := range verdicts {
		if v.Passed {
			who = id
		}
	}
	seen := map[string]bool{}
	last := ""
	for i, passed := range []bool{true, false, true} {
		v := scoring.Verdict{Passed: passed}
		if i > 0 {
			v.Since = time.Date(2100, 1, i, 0, 0, 0, 0, time.UTC)
		}
		list, text := statementsOf(t, book, Statements{Verdicts: map[scoring.SittingID]scoring.Verdict{who: v}})
		if faults := checkStatements(t, text); len(faults) > 0 {
			t.Error(faults)
		}
		for _, s := range list {
			if did := strings.TrimPrefix(s.Verb.ID, verbs); did == "passed" || did == "failed" {
				if seen[s.ID] || s.Timestamp <= last || (did == "passed") != passed {
					t.Errorf("round %d: %s %s of %s after %s", i, did, s.ID, s.Timestamp, last)
				}
				seen[s.ID], last = true, s.Timestamp
			}
		}
	}
	if len(seen) != 3 {
		t.Errorf("%d statements, want 3", len(seen))
	}
}
