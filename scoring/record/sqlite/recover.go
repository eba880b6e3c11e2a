package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring/record/sqlbook"
)

// table is a table of one form of the book, as its rows lie in the file.
type table struct {
	name    string
	columns []tableColumn
	rowid   int  // the column that is the key of the row, −1 for none
	keyed   bool // it lies in the order of its primary key (WITHOUT ROWID)
	insert  string
}

type tableColumn struct {
	name, kind string
	needed     bool // NOT NULL
	fallback   any  // where a row was written before there was the column
}

// tablesOf are the tables of an empty book.
func tablesOf(ctx context.Context, db *sql.DB) (map[string]*table, error) {
	list := map[string]*table{}
	err := rows(ctx, db, `SELECT l.name, l.wr, c.name, c.type, c."notnull", c.pk, c.dflt_value FROM pragma_table_list l JOIN pragma_table_info(l.name) c
		WHERE l.schema = 'main' AND l.type = 'table' AND l.name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY l.name, c.cid`, func(r sqlbook.Scanner) error {
		var name string
		var keyed bool
		var c tableColumn
		var key int
		var fallback sql.NullString
		if err := r.Scan(&name, &keyed, &c.name, &c.kind, &c.needed, &key, &fallback); err != nil {
			return err
		}
		t := list[name]
		if t == nil {
			t = &table{name: name, keyed: keyed, rowid: -1}
			list[name] = t
		}
		switch {
		case fallback.Valid && c.kind == "TEXT":
			c.fallback = strings.Trim(fallback.String, "'")
		case c.kind == "TEXT":
			c.fallback = ""
		default:
			c.fallback = int64(0) // the only default there is but those of texts
		}
		if !c.needed {
			c.fallback = nil
		}
		if key > 0 && c.kind == "INTEGER" && !keyed {
			t.rowid = len(t.columns)
		}
		t.columns = append(t.columns, c)
		return nil
	})
	for _, t := range list {
		var names []string
		for _, c := range t.columns {
			names = append(names, c.name)
		}
		t.insert = "INSERT OR IGNORE INTO " + t.name + " (" + strings.Join(names, ", ") + ") VALUES (?" + strings.Repeat(", ?", len(names)-1) + ")"
	}
	return list, err
}

// fits reports whether a row can be one of the table's.
func (t *table) fits(r carved) bool {
	least := len(t.columns)
	if least >= 8 { // those that grew from form to form, and whose rows stayed as they were
		least /= 2
	}
	if r.table == t.keyed || len(r.columns) > len(t.columns) || len(r.columns) < least {
		return false
	}
	for i, v := range r.columns {
		c := t.columns[i]
		ok := false
		switch v.(type) {
		case nil:
			ok = i == t.rowid || !c.needed
		case int64:
			ok = i != t.rowid && (c.kind == "INTEGER" || c.kind == "REAL")
		case float64:
			ok = c.kind == "REAL"
		case string:
			ok = c.kind == "TEXT"
		case []byte:
			ok = c.kind == "BLOB"
		}
		if !ok {
			return false
		}
	}
	return true
}

// values are a row's as they go into the table.
func (t *table) values(r carved) []any {
	list := make([]any, len(t.columns))
	for i, c := range t.columns {
		switch {
		case i == t.rowid:
			list[i] = r.rowid
		case i < len(r.columns):
			list[i] = r.columns[i]
		default:
			list[i] = c.fallback
		}
	}
	return list
}

// recovered is what was read out of a wreck.
type recovered struct {
	// ids are identifiers by table and row, out of the indexes: they name also those
	// whose own row is gone.
	ids  map[string]map[int64]string
	lost map[string]int // rows that do not fit into their table
}

// recoverRows reads every row that can be read into the empty tables of a book of the
// same form.
func (w *wreckage) recoverRows(ctx context.Context, tx *sql.Tx, tables map[string]*table) (found recovered, n int, err error) {
	found = recovered{ids: map[string]map[int64]string{}, lost: map[string]int{}}
	words := map[int64]string{}
	statements := map[string]*sql.Stmt{}
	put := func(t *table, r carved) error {
		if statements[t.name] == nil {
			if statements[t.name], err = tx.PrepareContext(ctx, t.insert); err != nil {
				return err
			}
		}
		if len(r.columns) > len(t.columns) {
			found.lost[t.name]++
			return nil
		}
		done, err := statements[t.name].ExecContext(ctx, t.values(r)...)
		if err != nil {
			if ctx.Err() != nil || code(err) == codeFull || code(err) == codeIO {
				return err
			}
			found.lost[t.name]++ // of another type than its column
			return nil
		}
		if k, err := done.RowsAffected(); err != nil || k == 0 {
			return err
		}
		n++
		return nil
	}
	for _, page := range slices.Sorted(maps.Keys(w.pages)) {
		list := rowsOf(w.pages, page, w.size)
		if len(list) == 0 {
			continue
		}
		owner := w.owner[page]
		if owner == "" && (w.blind || len(w.torn) > 0) {
			owner = guess(list, tables, w.blind, w.torn)
		}
		if of, is := strings.CutPrefix(owner, "sqlite_autoindex_"); is {
			of = strings.TrimSuffix(of, "_1")
			for _, r := range list {
				text, ok := column[string](r, 0)
				if row, is := column[int64](r, 1); ok && is && of == "word" {
					words[row] = text
				} else if ok && is {
					if found.ids[of] == nil {
						found.ids[of] = map[int64]string{}
					}
					found.ids[of][row] = text
				}
			}
		}
		t := tables[owner]
		if t == nil {
			continue
		}
		for _, r := range list {
			if err := put(t, r); err != nil {
				return found, n, err
			}
		}
	}
	// Words out of their index, where their own rows are gone.
	for row, text := range words {
		if err := put(tables["word"], carved{rowid: row, table: true, columns: []any{nil, text}}); err != nil {
			return found, n, err
		}
	}
	return found, n, nil
}

// guess says whose a page is that nothing leads to any more: that of the table into
// which all of its rows fit, among those whose pages are missing.
func guess(list []carved, tables map[string]*table, blind bool, torn map[string]int) string {
	all := func(is func(carved) bool) bool {
		return !slices.ContainsFunc(list, func(r carved) bool { return !is(r) })
	}
	for _, name := range slices.Sorted(maps.Keys(tables)) {
		t := tables[name]
		if !blind && torn[name] == 0 || !all(t.fits) {
			continue
		}
		// Some look alike: words and the numbers of assignments, identifiers and an index
		// of names.
		named := func(i int, empty bool) func(carved) bool {
			return func(r carved) bool {
				text, _ := column[string](r, i)
				return identifier(text) || empty && text == ""
			}
		}
		switch name {
		case "numbered":
			if !all(named(1, true)) {
				continue
			}
		case "former":
			if !all(named(0, false)) {
				continue
			}
		}
		return name
	}
	const index = "sqlite_autoindex_word_1"
	if blind || torn[index] > 0 {
		for _, r := range list {
			text, _ := column[string](r, 0)
			if _, err := exercises.ByID(exercises.KindID(text)); err == nil && !r.table {
				return index
			}
		}
	}
	return ""
}

// identifier reports whether a text looks like one that a book, or a simulation,
// gave out.
func identifier(s string) bool {
	return strings.HasPrefix(s, "sim-") || len(s) == 26 && strings.ToUpper(s) == s && !strings.ContainsAny(s, " .:-")
}

// gone says of the tables that people know by name that rows of theirs may be missing.
func (w *wreckage) gone(lost map[string]int) (lines []string) {
	if w.blind {
		lines = append(lines, "the page that says what the file holds cannot be read: what was found was told apart by its form")
	}
	called := map[string]string{"learner": "people", "class": "classes", "enrolment": "rosters", "assignment": "assignments", "panel": "calibration sessions",
		"form": "forms of the test", "sitting": "sittings", "former": "identifiers of people who were joined or erased", "numbered": "the numbers of assignments that are gone",
		"deed": "the list of what was done to people", "account": "passphrases of the class server"}
	for _, name := range slices.Sorted(maps.Keys(called)) {
		if n := w.torn[name]; n > 0 {
			lines = append(lines, fmt.Sprintf("%s: %d of the pages that hold them cannot be read; what stood there is missing", called[name], n))
		}
		if n := lost[name]; n > 0 {
			lines = append(lines, fmt.Sprintf("%s: %d that could be read make no sense and are missing", called[name], n))
		}
	}
	return lines
}
