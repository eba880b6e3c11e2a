package tests

import (
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// worthSection says in three plain lines what a certificate proves and what not.
func worthSection(t *taken) report.Section {
	agree := "Answers, setup and end are as the program wrote them down, and every trial is the one that the form asks. "
	switch {
	case len(t.faults) > 0:
		agree = "Not everything is as the program wrote it down; the first lines of this page say what. "
	case t.ref.Print == "":
		agree = "Answers, setup and end are as the program wrote them down, and every trial is the one that their setup asks. "
	}
	lines := []string{
		agree + "That finds accidents and careless changes, not a determined forger: whoever holds a book can write to it.",
		identityWords(t.history) + " Another person may have answered.",
		"Room, light and display are as they were reported; nobody measured them, and the program knows nothing of the person's eyes.",
	}
	if t.ref.Print != "" {
		lines = append(lines, "The items were drawn when the form was laid down, no command prints what decides them or practises with them. Whoever holds a book with the form, or the answers of somebody who took it, can read them out of the file.")
	}
	return report.Section{Key: "worth", Title: "What this proves, and what not", Notes: lines}
}

func identityWords(h *history.History) string {
	checked := true
	n := 0
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			checked = checked && s.Origin.Road == scoring.RoadServer
			n++
		}
	}
	if checked && n > 0 {
		return "Who took it had signed in to the class server."
	}
	return "Who took it is a name that was typed in."
}

// originWords say how a sitting came into the book.
func originWords(o scoring.Origin) string {
	var words string
	switch o.Road {
	case scoring.RoadHere:
		words = "in this book"
	case scoring.RoadServer:
		words = "on the class server, which kept trial, clock and order"
	case scoring.RoadImported:
		words = "elsewhere, and imported on " + scoring.Day(o.At)
		if o.Book != "" {
			words += " from the book " + o.Book
		}
	default:
		words = "not written down: it is from before books kept that"
	}
	if o.Simulated {
		words += "; simulated"
	}
	return words
}
