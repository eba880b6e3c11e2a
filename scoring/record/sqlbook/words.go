package sqlbook

import (
	"context"
	"fmt"
	"sync"
)

// words is the book's table of words in memory. A word keeps its number for as
// long as anything points to it, and no other word ever gets it.
type words struct {
	mu     sync.RWMutex
	cookie int64 // of the form in which they were read, see follow
	number map[string]int64
	text   []string // by number; no word has number 0
}

// follow forgets the words when one has been taken out of the book since they were
// read. Nothing points to such a word any more, so that readers need not know; but
// nobody must write its number down again.
func (w *words) follow(cookie int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if cookie != w.cookie {
		w.cookie, w.number, w.text = cookie, nil, nil
	}
}

// texts returns the words by number; the slice is not changed any more.
func (w *words) texts() []string {
	w.mu.RLock()
	defer w.mu.RUnlock()
	return w.text
}

// learn takes over words that are in the book for good.
func (w *words) learn(fresh map[string]int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.number == nil {
		w.number = map[string]int64{}
	}
	most := len(w.text)
	for _, n := range fresh {
		most = max(most, int(n)+1)
	}
	text := make([]string, most, most+most/4) // a copy: readers hold the old one
	copy(text, w.text)
	for s, n := range fresh {
		w.number[s], text[n] = n, s
	}
	w.text = text
}

// refresh reads the words that the book has and w does not.
func (w *words) refresh(ctx context.Context, db Session) error {
	from := 1 // the first that is missing; other processes enter words too
	for texts := w.texts(); from < len(texts) && texts[from] != ""; from++ {
	}
	rows, err := db.QueryContext(ctx, "SELECT id, text FROM word WHERE id >= ?", from)
	if err != nil {
		return err
	}
	defer rows.Close()
	fresh := map[string]int64{}
	for rows.Next() {
		var n int64
		var s string
		if err := rows.Scan(&n, &s); err != nil {
			return err
		}
		fresh[s] = n
	}
	if len(fresh) > 0 {
		w.learn(fresh)
	}
	return rows.Err()
}

// lookUp returns the number of a word that is in the book for good.
func (w *words) lookUp(s string) (int64, bool) {
	w.mu.RLock()
	defer w.mu.RUnlock()
	n, known := w.number[s]
	return n, known
}

func unknownWord(n int64) error { return fmt.Errorf("the book's word %d is missing", n) }
