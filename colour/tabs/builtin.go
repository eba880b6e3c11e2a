package tabs

import (
	"embed"
	"fmt"
	"strings"
	"sync"

	"shadedrill/colour/fault"
)

//go:generate go run generate.go

//go:embed natural.csv starter.csv
var builtinFiles embed.FS

var builtin = []struct {
	name string
	load func() (*Library, error)
}{
	{"natural", once("natural", "computed: value groups in equal steps over the colours of teeth, tabs by chroma and hue")},
	{"starter", once("starter", "computed: a coarse set of the same colours to begin with")},
}

// once reads a built-in library when it is first asked for. A Library does not
// change, so all who ask later get the same.
func once(name, note string) func() (*Library, error) {
	return sync.OnceValues(func() (*Library, error) {
		f, err := builtinFiles.Open(name + ".csv")
		if err != nil {
			return nil, err
		}
		defer f.Close()
		l, err := ReadCSV(f, name)
		if err != nil {
			return nil, fmt.Errorf("built-in library %s: %w", name, err)
		}
		l.note = note
		return l, nil
	})
}

// Builtin returns the names of the built-in libraries, the usual one first.
func Builtin() []string {
	var names []string
	for _, b := range builtin {
		names = append(names, b.name)
	}
	return names
}

// Load returns a built-in library by its name.
func Load(name string) (*Library, error) {
	for _, b := range builtin {
		if b.name == name {
			return b.load()
		}
	}
	return nil, fault.New(fmt.Sprintf("there is no built-in library %q", fault.Excerpt(name)),
		"built in are: "+strings.Join(Builtin(), ", "))
}
