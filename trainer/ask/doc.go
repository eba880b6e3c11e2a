// Package ask holds the screens of the exercises: a file for each kind, which
// paints the question, keeps the choice and says when it has become an answer.
// Frame, time, rest, feedback and summary are the same for all kinds and are the
// trainer's.
package ask
