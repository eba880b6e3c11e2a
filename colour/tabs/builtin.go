package tabs

import (
	"embed"
	"fmt"
	"strings"

	"shadedrill/colour/fault"
)

//go:generate go run generate.go

//go:embed natural.csv starter.csv
var builtinFiles embed.FS

var builtin = []struct{ name, note string }{
	{"natural", "computed: value groups in equal steps over the colours of teeth, tabs by chroma and hue"},
	{"starter", "computed: a coarse set of the same colours to begin with"},
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
		if b.name != name {
			continue
		}
		f, err := builtinFiles.Open(name + ".csv")
		if err != nil {
			return nil, err
		}
		defer f.Close()
		l, err := ReadCSV(f, name)
		if err != nil {
			return nil, fmt.Errorf("built-in library %s: %w", name, err)
		}
		l.note = b.note
		return l, nil
	}
	return nil, fault.New(fmt.Sprintf("there is no built-in library %q", shorten(name)),
		"built in are: "+strings.Join(Builtin(), ", "))
}
