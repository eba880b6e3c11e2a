package web_test

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web"
)

// TestInABrowser serves one trainer until the test's time is over, for a look at the
// page: SHADEDRILL_LOOK=127.0.0.1:8099 go test -run InABrowser -timeout 10m ./trainer/web
func TestInABrowser(t *testing.T) {
	address := os.Getenv("SHADEDRILL_LOOK")
	if address == "" {
		t.Skip("set SHADEDRILL_LOOK to an address of this machine")
	}
	listener, err := net.Listen("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	seed := uint64(7)
	book := record.NewMemory()
	var screen *web.Screen
	origin := "http://" + listener.Addr().String()
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		web.Page{Socket: "/socket?" + r.URL.RawQuery, Home: "/", Assets: "/assets/"}.Write(w)
	})
	mux.Handle("GET /assets/", http.StripPrefix("/assets/", web.Assets()))
	mux.HandleFunc("GET /socket", func(w http.ResponseWriter, r *http.Request) {
		conn, err := web.Accept(w, r, origin)
		if err != nil {
			return
		}
		if screen == nil || screen.Ended() {
			screen = web.New(web.Options{Shown: func(s web.Shown) { fmt.Printf("%+v\n", s) }})
			cfg := trainer.Config{Book: book, Seed: &seed, System: display.Browser, Learner: "Ada Invented", SkipWelcome: true, SkipDisplay: !r.URL.Query().Has("check")}
			if kind := r.URL.Query().Get("kind"); kind != "" {
				cfg.Start = &exercises.Setup{Kind: exercises.KindID(kind)}
			}
			if r.URL.Query().Has("name") {
				cfg.Learner = ""
			}
			go func() { fmt.Println("run:", trainer.Run(context.Background(), screen, cfg)) }()
		}
		fmt.Println("socket:", screen.Serve(r.Context(), conn), screen.Stats(), screen.Times())
	})
	go http.Serve(listener, mux)
	time.Sleep(9 * time.Minute)
}
