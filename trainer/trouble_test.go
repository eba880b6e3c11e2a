package trainer_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// failing is a book whose disk is full until it is told otherwise.
type failing struct {
	record.Book
	full  bool
	panic bool
	once  bool // the panic comes once
	after bool // … when the answer is in the book already
}

func (f *failing) Append(ctx context.Context, a scoring.Attempt) error {
	if f.panic {
		f.panic = !f.once
		if f.after {
			if err := f.Book.Append(ctx, a); err != nil {
				return err
			}
		}
		panic("a defect")
	}
	if f.full {
		return errors.New("no space left on device")
	}
	return f.Book.Append(ctx, a)
}

func TestAnAnswerThatCannotBeWrittenIsKeptAndSentAgain(t *testing.T) {
	book := &failing{Book: record.NewMemory(), full: true}
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = book
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter").Advance(2 * time.Second).Press("enter")
	tt.Expect("could not be written", "no space left on device", "r try again").ExpectNot("answered")
	tt.Press("r").Expect("could not be written")
	book.full = false
	tt.Press("r").Expect("trial 1 of 3, answered")
	all := attempts(t, book)
	if len(all) != 1 || all[0].Answer.Total != 2*time.Second {
		t.Errorf("the book has %+v", all)
	}
}

// To the menu, the answer is tried once more; what is lost then is said, and asked again.
func TestTheMenuGivesUpNoAnswerSilently(t *testing.T) {
	book := &failing{Book: record.NewMemory(), full: true}
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = book
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter").Expect("could not be written").Press("m").Expect("It could not be written.", "Settings").Press("q")
	tt = looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter").Expect("could not be written")
	book.full = false
	tt.Press("m").Expect("Settings").ExpectNot("It could not be written.")
	if n := len(attempts(t, book)); n != 1 {
		t.Errorf("%d answers in the book", n)
	}
}

// Two windows go on with one drill: the answer that comes first stands, and the other
// window says so instead of trying for ever.
func TestADrillInTwoWindows(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	one := looking(t, cfg, trainertest.Options{})
	one.Press("enter", "enter").Expect("trial 1 of 3, answered").Press("enter").Advance(time.Second)
	again := cfg
	again.Start = nil
	two := trainertest.Run(t, again, trainertest.Options{Width: 80, Height: 24}).Expect("You broke off the drill").Press("1", "enter").Advance(time.Second)
	two.Press("enter", "right", "enter").Expect("trial 2 of 3, answered")
	one.Press("enter", "enter").Expect("in another window", "hint: go on there").ExpectNot("try again").Press("m").Expect("Settings").ExpectNot("It could not be written.")
	two.Press("enter").Advance(time.Second).Press("enter", "enter").Expect("trial 3 of 3, answered")
	if n := len(attempts(t, cfg.Book)); n != 3 {
		t.Errorf("%d answers in the book", n)
	}
}

func TestAPanicRestoresTheTerminalAndIsAnError(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = &failing{Book: record.NewMemory(), panic: true}
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter")
	ended, err := tt.Ended()
	var b *trainer.Broken
	if !ended || !errors.As(err, &b) || !strings.Contains(err.Error(), "a defect") || len(b.Stack) == 0 {
		t.Errorf("ended %v with %v", ended, err)
	}
}

// What breaks while an answer is written takes the answer with it neither before
// the book has it nor after.
func TestAPanicKeepsTheAnswer(t *testing.T) {
	for _, after := range []bool{false, true} {
		book := &failing{Book: record.NewMemory(), panic: true, once: true, after: after}
		cfg := practising(t, exercises.ValueFirst, 3)
		cfg.Book = book
		tt := looking(t, cfg, trainertest.Options{})
		tt.Press("enter", "enter")
		ended, err := tt.Ended()
		var b *trainer.Broken
		if n := len(attempts(t, book.Book)); !ended || !errors.As(err, &b) || n != 1 {
			t.Errorf("after %v: ended %v with %v, %d answers in the book", after, ended, err, n)
		}
	}
}

func TestCtrlCLeavesAtOnceAndTheDrillIsKept(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "ctrl-c")
	if ended, err := tt.Ended(); !ended || err != nil {
		t.Errorf("ended %v with %v", ended, err)
	}
	open, _ := cfg.Book.Sittings(context.Background(), record.Filter{Unfinished: true})
	if len(open) != 1 {
		t.Errorf("%d unfinished sittings", len(open))
	}
}

func TestNamesAreCleanedAndOthersCanBeChosen(t *testing.T) {
	book := record.NewMemory()
	tt := trainertest.Run(t, trainer.Config{Book: book, SkipDisplay: true, SkipWelcome: true}, trainertest.Options{})
	tt.Type("Åsa 歯 Invented").Press("enter").Expect("Åsa 歯 Invented", "Settings")
	tt.Press("q")
	tt = trainertest.Run(t, trainer.Config{Book: book, SkipDisplay: true}, trainertest.Options{})
	tt.Expect("Who is practising?", "Åsa 歯 Invented").Press("2").Expect("Before you begin", "Esc back").Type("Bo").Press("enter").Expect("Value first", "5 trials").Press("q").Expect("Settings", "Bo")
	people, err := book.Learners(context.Background())
	if err != nil || len(people) != 2 {
		t.Errorf("%v, %v", people, err)
	}
}

// Whoever leaves while the book refuses an answer has it tried once more, and is
// told when that is in vain.
func TestAnAnswerThatWaitsIsSentBeforeTheEnd(t *testing.T) {
	for _, mended := range []bool{true, false} {
		book := &failing{Book: record.NewMemory(), full: true}
		cfg := practising(t, exercises.ValueFirst, 3)
		cfg.Book = book
		tt := looking(t, cfg, trainertest.Options{})
		tt.Press("enter", "enter").Expect("could not be written")
		book.full = !mended
		tt.Press("q")
		ended, err := tt.Ended()
		if n := len(attempts(t, book.Book)); !ended || mended != (err == nil) || mended != (n == 1) {
			t.Errorf("mended %v: ended %v with %v, %d answers in the book", mended, ended, err, n)
		}
		if err != nil && !strings.Contains(err.Error(), "the last answer could not be written to the book: no space left") {
			t.Errorf("told as %v", err)
		}
	}
}

// closing is a book that is written to in the moment in which the window is closed.
type closing struct {
	record.Book
	close func()
}

func (c *closing) Append(ctx context.Context, a scoring.Attempt) error {
	c.close()
	if err := ctx.Err(); err != nil {
		return err
	}
	return c.Book.Append(ctx, a)
}

func TestAnAnswerIsWrittenThoughTheWindowIsBeingClosed(t *testing.T) {
	hungUp := errors.New("hung up")
	book := &closing{Book: record.NewMemory()}
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = book
	tt := looking(t, cfg, trainertest.Options{})
	book.close = func() { tt.StopSoon(hungUp) }
	tt.Press("enter", "enter")
	tt.Stop(errors.New("long over")) // waits for its end
	if ended, err := tt.Ended(); !ended || !errors.Is(err, hungUp) {
		t.Errorf("ended %v with %v", ended, err)
	}
	if all := attempts(t, book.Book); len(all) != 1 {
		t.Errorf("one answer was given, the book has %d", len(all))
	}
}

func TestATerminalThatIsGoneEndsTheTrainer(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = record.NewMemory()
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter").Expect("answered").Press("enter")
	tt.Gone()
	if ended, err := tt.Ended(); !ended || !errors.Is(err, trainer.ErrGone) {
		t.Errorf("ended %v with %v", ended, err)
	}
	if all := attempts(t, cfg.Book); len(all) != 1 {
		t.Errorf("one answer was given, the book has %d", len(all))
	}
	// It is offered again.
	trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true}, trainertest.Options{}).Expect("after 1 of 3 trials")
}

// The book's file is moved away in the middle of a drill: the answer in hand is not
// lost, everything goes into a new book, and the drill goes on in it.
func TestABookThatIsTakenAwayIsWrittenAnew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book, err := sqlite.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = book
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter").Expect("answered").Press("enter").Advance(time.Second)
	if err := os.Rename(path, path+".elsewhere"); err != nil {
		t.Fatal(err)
	}
	tt.Press("enter", "enter").Expect("could not be written", "was moved or deleted while it was open", "w write a new book").ExpectNot("answered")
	tt.Press("r").Expect("could not be written") // it is not in its place yet
	tt.Press("w").Expect("trial 2 of 3, answered", "rescued-1")
	if n := len(attempts(t, book)); n != 2 {
		t.Errorf("two answers were given, the new book has %d", n)
	}
	tt.Press("q")
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := sqlite.Open(context.Background(), path+".rescued-1")
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	if n := len(attempts(t, again)); n != 2 {
		t.Errorf("opened again it has %d", n)
	}
}

// distant is a book that writes an answer when it is let go.
type distant struct {
	record.Book
	free chan struct{}
}

func (d *distant) Append(ctx context.Context, a scoring.Attempt) error {
	<-d.free
	return d.Book.Append(ctx, a)
}

// While the book is waited for the screen says so, and nothing else on it moves.
func TestTheScreenSaysThatTheBookHasNotAnswered(t *testing.T) {
	book := &distant{Book: record.NewMemory(), free: make(chan struct{})}
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = book
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter")
	before := strings.Split(tt.Text(), "\n")
	during := make(chan string, 1)
	go func() {
		const said = "the book has not answered yet. Nothing is lost."
		for until := time.Now().Add(30 * time.Second); !tt.Shows(said) && time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
		}
		during <- tt.Text()
		close(book.free)
	}()
	tt.Press("enter")
	var said []string
	for y, row := range strings.Split(<-during, "\n") {
		if row != before[y] {
			said = append(said, row)
		}
	}
	if len(said) != 1 || !strings.Contains(said[0], "the book has not answered yet") {
		t.Errorf("what has changed while the book is waited for: %q", said)
	}
	tt.Expect("trial 1 of 3, answered").ExpectNot("has not answered")
	if n := len(attempts(t, book)); n != 1 {
		t.Errorf("%d answers in the book", n)
	}
}
