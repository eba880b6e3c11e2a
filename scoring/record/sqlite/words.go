package sqlite

import (
	"context"
	"fmt"
	"sync"
)

// words is the book's table of words in memory. A word keeps its number for
// ever, so what was read once stays true.
type words struct {
	mu     sync.RWMutex
	number map[string]int64
	text   []string // by number; no word has number 0
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
func (w *words) refresh(ctx context.Context, db querier) error {
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
