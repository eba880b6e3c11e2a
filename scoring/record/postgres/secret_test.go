//go:build unix

package postgres_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
)

const password = "corn-flower-7"

func TestShownWithoutPassword(t *testing.T) {
	for address, want := range map[string]string{
		"postgres://ida:" + password + "@db.example:5433/school?sslmode=verify-full": "postgres://ida@db.example:5433/school",
		"postgresql://ida@/school?host=/run/pg&password=" + password:                 "postgres://ida@/school?host=/run/pg",
		"postgres://db.example/school?sslpassword=" + password + "&search_path=a":    "postgres://db.example/school?search_path=a",
		"postgres://ida:" + password + "@db.example/%zz":                             "postgres://…",
	} {
		if got := postgres.Shown(address); got != want {
			t.Errorf("%s is shown as %s, want %s", address, got, want)
		}
		if !postgres.Secret(address) {
			t.Errorf("%s is said to hold no password", address)
		}
	}
	if postgres.Secret("postgres://ida@db.example/school?sslmode=verify-full") {
		t.Error("an address without a password is said to hold one")
	}
	for _, name := range []string{"book.db", "/srv/postgres/book.db", "postgres"} {
		if postgres.Named(name) {
			t.Errorf("the file %s is taken for a database", name)
		}
	}
}

// Whatever goes wrong, no error says the password.
func TestErrorsHoldNoPassword(t *testing.T) {
	for _, address := range []string{
		"postgres://ida:" + password + "@127.0.0.1:1/school?connect_timeout=1",
		"postgres://ida:" + password + "@127.0.0.1:port/school",
		"postgres://ida:" + password + "@127.0.0.1/%zz",
		"postgres://ida:" + password + "@127.0.0.1/school?sslmode=whatever",
		"postgres://ida:" + password + "@127.0.0.1/school?sslrootcert=/no/such/file&sslmode=verify-full",
		"postgres://ida@127.0.0.1/school?connect_timeout=" + password,
	} {
		_, err := postgres.Open(ctx, address)
		if err == nil {
			t.Fatalf("%s was opened", address)
		}
		for e := err; e != nil; {
			if strings.Contains(e.Error(), password) || strings.Contains(fault.Hint(e), password) {
				t.Errorf("said: %v", e)
			}
			u, ok := e.(interface{ Unwrap() error })
			if !ok {
				break
			}
			e = u.Unwrap()
		}
	}
}

// certificate makes a certificate for this machine, signed by itself.
func certificate(t *testing.T, folder string) (cert, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "database"}, NotAfter: time.Now().Add(time.Hour), IsCA: true,
		BasicConstraintsValid: true, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, &c, &c, &private.PublicKey, private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalECPrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	cert, key = filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	for path, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: der}, key: {Type: "EC PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(path, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key
}

// grants are what the README says a role needs.
func grants(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(text), "```sql\n")
	block, _, ok := strings.Cut(after, "```")
	if !ok {
		t.Fatal("the README has no grants")
	}
	return block
}

// A role with a password, over TLS that is verified, which owns nothing and has what the
// README grants, does everything but make a book.
func TestRoleWithoutOwnership(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a server of its own")
	}
	s := postgrestest.New(t, "fsync=off")
	address := s.Database(t)
	cert, key := certificate(t, s.Folder)
	s.Own(t, cert, key)
	s.Exec(t, "postgres", "CREATE ROLE shadedrill_server LOGIN PASSWORD '"+password+"'")
	s.Exec(t, "postgres", "ALTER SYSTEM SET ssl_cert_file = '"+cert+"'")
	s.Exec(t, "postgres", "ALTER SYSTEM SET ssl_key_file = '"+key+"'")
	s.Configure(t, "ssl = on")
	s.Admit(t, "local all owner trust", "hostssl all all 127.0.0.1/32 scram-sha-256")
	base := strings.TrimPrefix(address[:strings.Index(address, "?")], "postgres://owner@/")
	host := fmt.Sprintf("postgres://shadedrill_server@127.0.0.1:%d/%s", s.Port, base)
	verified := host + "?sslmode=verify-full&sslrootcert=" + cert

	// Nobody comes in without the password, with another one, or without TLS.
	t.Setenv("PGPASSFILE", "/dev/null")
	for _, wrong := range []string{"", "another"} {
		t.Setenv("PGPASSWORD", wrong)
		if _, err := postgres.Open(ctx, verified); err == nil || fault.Hint(err) == "" || strings.Contains(err.Error(), password) {
			t.Errorf("with the password %q: %v", wrong, err)
		}
	}
	t.Setenv("PGPASSWORD", password)
	if _, err := postgres.Open(ctx, host+"?sslmode=disable"); err == nil || fault.Hint(err) == "" {
		t.Errorf("without TLS: %v", err)
	}
	other, _ := certificate(t, t.TempDir())
	if _, err := postgres.Open(ctx, host+"?sslmode=verify-full&sslrootcert="+other); err == nil {
		t.Error("a certificate that nobody signed was believed")
	}
	// It makes no book, and reads none before it is granted.
	if _, err := postgres.Open(ctx, verified); err == nil || fault.Hint(err) == "" {
		t.Errorf("it made a book: %v", err)
	}
	owner := open(t, address)
	everything(t, owner)
	if _, err := postgres.Open(ctx, verified); err == nil || !strings.Contains(err.Error(), "permission denied") || fault.Hint(err) == "" {
		t.Errorf("it read without being granted: %v", err)
	}
	s.Exec(t, base, grants(t))

	// The password from a file this time, and everything that a book does.
	t.Setenv("PGPASSWORD", "")
	file := filepath.Join(t.TempDir(), "pass")
	if err := os.WriteFile(file, []byte("127.0.0.1:*:*:shadedrill_server:"+password+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PGPASSFILE", file)
	book := open(t, verified)
	if n := book.Notes(); len(n) != 0 {
		t.Errorf("notes: %q", n)
	}
	di := recordtest.Person(t, book, "Di Moss")
	recordtest.Class(t, book, "Winter", di)
	sitting := recordtest.Begin(t, book, di, 50)
	for n := range 3 {
		if err := book.Append(ctx, recordtest.Plain(sitting, n)); err != nil {
			t.Fatal(err)
		}
	}
	if err := book.EraseLearner(ctx, di.ID, recordtest.Noon); err != nil {
		t.Error(err)
	}
	if found, _, err := book.Check(ctx, func(int) {}); err != nil || !found.Sound() {
		t.Errorf("the book: %v %v", err, found.Findings)
	}
	if err := book.Wipe(ctx); err == nil || !strings.Contains(fault.Hint(err), "as the owner") {
		t.Errorf("it wrote the tables anew: %v", err)
	}
	if err := owner.Wipe(ctx); err != nil {
		t.Error(err)
	}
	execute(t, address, "SELECT 1")
	if err := tryExecute(verified, "DROP TABLE receipt"); err == nil {
		t.Error("it took a table away")
	}
	if strings.Contains(s.Log(), password) {
		t.Error("the password stands in the database's log")
	}
	if err := owner.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}
