package sqlbook

// Tables are those of a book, each after those that its rows point to.
var Tables = []string{"book", "sheet", "word", "learner", "class", "sitting", "attempt", "chain", "panel", "enrolment", "assignment", "ruling", "numbered", "former",
	"deed", "account", "ticket", "signed_in", "served", "form"}
