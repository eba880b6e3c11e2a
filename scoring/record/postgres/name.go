package postgres

import (
	"net/url"
	"strings"

	"github.com/jackc/pgx/v5"

	"shadedrill/colour/fault"
)

// Named reports whether the name of a book is the address of one in a database.
func Named(name string) bool {
	return strings.HasPrefix(name, "postgres://") || strings.HasPrefix(name, "postgresql://")
}

// Shown is the address of a book as it may be printed: without the password and
// without the settings behind it, some of which are secrets too.
func Shown(address string) string {
	u, err := url.Parse(address)
	if err != nil || !Named(address) {
		return "postgres://…"
	}
	shown := url.URL{Scheme: "postgres", Host: u.Host, Path: u.Path}
	if u.User != nil {
		shown.User = url.User(u.User.Username())
	}
	// The place may stand among the settings, as that of a socket always does.
	places := url.Values{}
	for _, key := range []string{"host", "port", "dbname", "search_path"} {
		if v := u.Query().Get(key); v != "" {
			places.Set(key, v)
		}
	}
	shown.RawQuery = places.Encode()
	if plain, err := url.QueryUnescape(shown.RawQuery); err == nil {
		shown.RawQuery = plain
	}
	return shown.String()
}

// Secret reports whether an address holds a password.
func Secret(address string) bool {
	u, err := url.Parse(address)
	if err != nil {
		return true // who knows
	}
	_, has := u.User.Password()
	q := u.Query()
	return has || q.Has("password") || q.Has("sslpassword")
}

// configuration is what an address and the environment (PGPASSWORD, PGPASSFILE and the
// other variables of PostgreSQL's own programs) say together.
func configuration(address string) (*pgx.ConnConfig, error) {
	config, err := pgx.ParseConfig(address)
	if err != nil {
		// Its words may hold the address, and with it a password.
		return nil, fault.New("the address of the book cannot be understood, or a file that it names cannot be read",
			"such as postgres://ROLE@HOST/DATABASE?sslmode=verify-full; the password goes into PGPASSWORD, or into the file that PGPASSFILE names")
	}
	if config.RuntimeParams["application_name"] == "" {
		config.RuntimeParams["application_name"] = "shadedrill"
	}
	return config, nil
}
