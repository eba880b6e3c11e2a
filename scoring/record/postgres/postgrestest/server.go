//go:build unix

// Package postgrestest runs a PostgreSQL of its own for tests: in a folder that goes away
// with it, on a socket there, and on a port of this machine where one is asked for.
package postgrestest

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib"
)

// Demand is the variable that makes tests fail where no PostgreSQL is installed, which
// otherwise leave themselves out.
const Demand = "SHADEDRILL_POSTGRES"

// Server is one that runs.
type Server struct {
	Folder  string // with its data and its socket
	Port    int
	options []string
	process *os.Process
	gone    chan struct{}
}

// programs is where PostgreSQL's own programs lie; the newest of several.
func programs() (string, bool) {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if len(found) > 0 {
		return filepath.Dir(found[len(found)-1]), true
	}
	path, err := exec.LookPath("initdb")
	return filepath.Dir(path), err == nil
}

// Installed leaves a test out where there is no PostgreSQL, or fails it where one is
// demanded.
func Installed(t testing.TB) {
	t.Helper()
	if _, ok := programs(); !ok {
		if os.Getenv(Demand) != "" {
			t.Fatal("no PostgreSQL is installed, and " + Demand + " demands one")
		}
		t.Skip("no PostgreSQL is installed")
	}
}

// as makes a command run as somebody who may run a database: root may not.
func as(cmd *exec.Cmd) *exec.Cmd {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if u, ok := unprivileged(); ok {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: u[0], Gid: u[1]}
	}
	dieWithParent(cmd)
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), "LC_ALL=C", "PGCLIENTENCODING=UTF8")
	return cmd
}

func unprivileged() (ids [2]uint32, ok bool) {
	if os.Getuid() != 0 {
		return ids, false
	}
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			uid, _ := strconv.Atoi(u.Uid)
			gid, _ := strconv.Atoi(u.Gid)
			return [2]uint32{uint32(uid), uint32(gid)}, true
		}
	}
	return ids, false
}

// run runs one of PostgreSQL's programs.
func run(program string, args ...string) error {
	folder, _ := programs()
	cmd := as(exec.Command(filepath.Join(folder, program), args...))
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%s: %w: %s", program, err, out.String())
	}
	return nil
}

// New makes a server and starts it; it is stopped and taken away at the end of the test.
// options are settings such as "fsync=off".
func New(t testing.TB, options ...string) *Server {
	t.Helper()
	Installed(t)
	s, err := create(options)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.remove)
	return s
}

func create(options []string) (*Server, error) {
	s, err := empty(options)
	if err != nil {
		return nil, err
	}
	err = run("initdb", "-D", s.data(), "-U", "owner", "-A", "trust", "-E", "UTF8", "--no-sync", "--no-instructions")
	if err == nil {
		err = s.Start()
	}
	if err != nil {
		os.RemoveAll(s.Folder)
		return nil, err
	}
	return s, nil
}

// empty is a server without data.
func empty(options []string) (*Server, error) {
	folder, err := os.MkdirTemp("", "shadedrill-pg-")
	if err != nil {
		return nil, err
	}
	if u, ok := unprivileged(); ok {
		if err := os.Chown(folder, int(u[0]), int(u[1])); err != nil {
			return nil, err
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	defer l.Close()
	return &Server{Folder: folder, Port: l.Addr().(*net.TCPAddr).Port, options: options}, nil
}

func (s *Server) data() string { return filepath.Join(s.Folder, "data") }

// Start starts the server and waits until it answers.
func (s *Server) Start() error {
	folder, _ := programs()
	args := []string{"-D", s.data(), "-k", s.Folder, "-p", strconv.Itoa(s.Port), "-c", "listen_addresses=127.0.0.1",
		"-c", "logging_collector=off", "-c", "max_connections=120", "-c", "shared_buffers=64MB"}
	for _, o := range s.options {
		args = append(args, "-c", o)
	}
	log, err := os.OpenFile(filepath.Join(s.Folder, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer log.Close()
	cmd := as(exec.Command(filepath.Join(folder, "postgres"), args...))
	cmd.Stdout, cmd.Stderr = log, log
	started := make(chan error)
	s.gone = make(chan struct{})
	go func() {
		// It is to go when this process does, which the system ties to a thread.
		runtime.LockOSThread()
		started <- cmd.Start()
		_ = cmd.Wait()
		close(s.gone)
	}()
	if err := <-started; err != nil {
		return err
	}
	s.process = cmd.Process
	db, err := sql.Open("pgx", s.Address("postgres"))
	if err != nil {
		return err
	}
	defer db.Close()
	for until := time.Now().Add(60 * time.Second); ; {
		if err := db.Ping(); err == nil {
			return nil
		}
		select {
		case <-s.gone:
			return fmt.Errorf("the server has ended: %s", s.Log())
		case <-time.After(20 * time.Millisecond):
		}
		if time.Now().After(until) {
			return fmt.Errorf("the server does not answer: %s", s.Log())
		}
	}
}

// Log is what the server has told.
func (s *Server) Log() string {
	text, _ := os.ReadFile(filepath.Join(s.Folder, "log"))
	return string(text)
}

// Kill ends the server as a crash of its machine does, with all its processes.
func (s *Server) Kill() {
	_ = syscall.Kill(-s.process.Pid, syscall.SIGKILL)
	<-s.gone
}

// Stop ends it without waiting for who is connected.
func (s *Server) Stop() {
	_ = s.process.Signal(syscall.SIGINT) // fast
	<-s.gone
}

func (s *Server) remove() {
	select {
	case <-s.gone:
	default:
		s.Kill()
	}
	os.RemoveAll(s.Folder)
}

// Address is that of a database, by way of the socket, as the owner.
func (s *Server) Address(database string) string {
	return fmt.Sprintf("postgres://owner@/%s?host=%s&port=%d", database, s.Folder, s.Port)
}

// Exec says something to a database as its owner.
func (s *Server) Exec(t testing.TB, database, text string) {
	t.Helper()
	db, err := sql.Open("pgx", s.Address(database)+"&default_query_exec_mode=simple_protocol")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(context.Background(), text); err != nil {
		t.Fatal(err)
	}
}

// Database makes an empty database and returns its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	mu.Lock()
	count++
	name := "book" + strconv.Itoa(count)
	mu.Unlock()
	s.Exec(t, "postgres", "CREATE DATABASE "+name)
	return s.Address(name)
}

var (
	mu     sync.Mutex
	count  int
	shared *Server
)

// Address makes an empty database on the one server that all tests of a package share,
// and that waits for no disk. The package's TestMain calls [Main].
func Address(t testing.TB) string {
	t.Helper()
	Installed(t)
	mu.Lock()
	s := shared
	if s == nil {
		var err error
		if s, err = create([]string{"fsync=off", "full_page_writes=off", "autovacuum=off"}); err != nil {
			mu.Unlock()
			t.Fatal(err)
		}
		shared = s
	}
	mu.Unlock()
	return s.Database(t)
}

// Main runs a package's tests and stops the server that they shared.
func Main(m *testing.M) int {
	defer func() {
		if shared != nil {
			shared.remove()
		}
	}()
	return m.Run()
}

// Standby makes a copy of the server that follows it, under a name by which the server
// can wait for it.
func (s *Server) Standby(t testing.TB, name string, options ...string) *Server {
	t.Helper()
	standby, err := empty(options)
	if err != nil {
		t.Fatal(err)
	}
	from := fmt.Sprintf("host=%s port=%d user=owner application_name=%s", s.Folder, s.Port, name)
	if err := run("pg_basebackup", "-D", standby.data(), "-R", "-X", "stream", "-c", "fast", "--no-sync", "-d", from); err != nil {
		t.Fatal(err)
	}
	if err := standby.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(standby.remove)
	return standby
}

// Promote makes a standby a server that takes what is written.
func (s *Server) Promote(t testing.TB) {
	t.Helper()
	if err := run("pg_ctl", "promote", "-D", s.data(), "-w"); err != nil {
		t.Fatal(err)
	}
}

// Configure writes a line of the settings and has them read again.
func (s *Server) Configure(t testing.TB, setting string) {
	t.Helper()
	s.Exec(t, "postgres", "ALTER SYSTEM SET "+setting)
	s.Exec(t, "postgres", "SELECT pg_reload_conf()")
}

// Hosts are the addresses of a database on two servers at once, whichever takes what is
// written.
func Hosts(a, b *Server, database string) string {
	return strings.Join([]string{fmt.Sprintf("postgres://owner@127.0.0.1:%d,127.0.0.1:%d/%s", a.Port, b.Port, database), "sslmode=disable&target_session_attrs=read-write&connect_timeout=2"}, "?")
}

// Own gives files to whom the server runs as.
func (s *Server) Own(t testing.TB, files ...string) {
	t.Helper()
	u, ok := unprivileged()
	for _, f := range files {
		if !ok {
			return
		}
		if err := os.Chown(f, int(u[0]), int(u[1])); err != nil {
			t.Fatal(err)
		}
	}
}

// Admit says who may come in from where, in lines of pg_hba.conf.
func (s *Server) Admit(t testing.TB, lines ...string) {
	t.Helper()
	path := filepath.Join(s.data(), "pg_hba.conf")
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s.Exec(t, "postgres", "SELECT pg_reload_conf()")
}
