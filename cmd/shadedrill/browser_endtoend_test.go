//go:build endtoend

package main

import (
	"bytes"
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The reports are opened in a browser, as a person would who got one by mail: the
// picture is not blank, no line of the console complains, nothing is loaded, and on a telephone nothing sticks out at the side.
func TestEndToEndReportsInABrowser(t *testing.T) {
	t.Parallel() // they wait more than they work
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatal("chromium is needed: apt-get install chromium")
	}
	program := build(t)
	dir := t.TempDir()
	book := filepath.Join(dir, "book.db")
	shadedrill := func(args ...string) {
		t.Helper()
		if out, err := exec.Command(program, args...).CombinedOutput(); err != nil {
			t.Fatalf("shadedrill %s: %v\n%s", strings.Join(args, " "), err, out)
		}
	}
	shadedrill("simulate", "--learners", "1", "--sittings", "8", "--items", "20", "--seed", "3", "--improve", "--book", book)
	class := filepath.Join(dir, "class.db")
	shadedrill("simulate", "--class", "Monday group", "--learners", "30", "--sittings", "8", "--items", "10", "--seed", "1", "--book", class)
	team := filepath.Join(dir, "team.db")
	shadedrill("panel", "new", "Spring team", "--items", "12", "--seed", "4", "--book", team)
	shadedrill("simulate", "--panel", "Spring team", "--learners", "6", "--seed", "3", "--book", team)
	eyes := filepath.Join(dir, "eyes.db")
	shadedrill("simulate", "--learners", "1", "--sittings", "2", "--items", "240", "--kind", "threshold", "--task", "different", "--seed", "3", "--book", eyes)
	pages := map[string][]string{
		"panel":     {"panel", "report", "Spring team", "--pair", "Simulated 01", "--pair", "Simulated 02", "--book", team},
		"progress":  {"progress", "--book", book},
		"class":     {"class", "review", "Monday group", "--book", class},
		"grades":    {"class", "grades", "Monday group", "--book", class},
		"tests":     {"exam", "list", "--book", class},
		"tabs":      {"tabs", "show"},
		"threshold": {"threshold", "--draws", "40", "--book", eyes},
		"check":     {"tabs", "check"},
	}
	for name, args := range pages {
		t.Run(name, func(t *testing.T) {
			page := filepath.Join(dir, name+".html")
			shadedrill(append(args, "-o", page)...)
			w := window{t, browser, dir}
			for _, width := range []int{1200, 390, 360} {
				w.look(page, width)
			}
		})
	}
}

type window struct {
	t       *testing.T
	browser string
	dir     string
}

// look opens a page in a frame of the given width.
func (w window) look(page string, width int) {
	w.t.Helper()
	frame := filepath.Join(w.dir, fmt.Sprintf("frame-%d.html", width))
	content := fmt.Sprintf(`<!doctype html><body style="margin:0"><iframe id="f" src="%s" style="border:0;width:%dpx;height:1600px"></iframe>
<script>f.onload = () => { document.title = "wide " + f.contentDocument.documentElement.scrollWidth
 + " loaded " + f.contentWindow.performance.getEntriesByType("resource").length }</script></body>`, filepath.Base(page), width)
	if err := os.WriteFile(frame, []byte(content), 0o644); err != nil {
		w.t.Fatal(err)
	}
	picture := filepath.Join(w.dir, "page.png")
	out := w.run("--screenshot="+picture, fmt.Sprintf("--window-size=%d,1600", max(width, 500)), "file://"+frame)
	for line := range strings.Lines(out) {
		if strings.Contains(line, "CONSOLE") {
			w.t.Errorf("%d pixels: the console says %s", width, line)
		}
	}
	w.checkPicture(picture, width)
	dom := w.run("--dump-dom", "--window-size=1200,1600", "file://"+frame)
	// What the page loads, and what it tries to, is in the browser's own account
	// of it; a blocked attempt would show on the console as well.
	m := regexp.MustCompile(`<title>wide (\d+) loaded (\d+)</title>`).FindStringSubmatch(dom)
	if m == nil || m[1] != fmt.Sprint(width) || m[2] != "0" {
		w.t.Errorf("in a frame of %d pixels the page's width and what it loaded are %q", width, m)
	}
}

func (w window) run(args ...string) string {
	w.t.Helper()
	cmd := exec.Command(w.browser, append([]string{"--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
		"--allow-file-access-from-files", "--user-data-dir=" + filepath.Join(w.dir, "profile"), "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-default-apps",
		"--host-resolver-rules=MAP * ~NOTFOUND", "--enable-logging=stderr", "--v=0"}, args...)...)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Run(); err != nil {
		w.t.Fatalf("chromium: %v\n%s", err, out.String())
	}
	return out.String()
}

// checkPicture wants many colours, and ink on at least one pixel in a hundred.
func (w window) checkPicture(path string, width int) {
	w.t.Helper()
	f, err := os.Open(path)
	if err != nil {
		w.t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		w.t.Fatal(err)
	}
	colours, ink, all := map[[3]uint32]bool{}, 0, 0
	for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
		for x := img.Bounds().Min.X; x < min(img.Bounds().Max.X, width); x++ {
			r, g, b, _ := img.At(x, y).RGBA()
			colours[[3]uint32{r >> 8, g >> 8, b >> 8}] = true
			all++
			if r+g+b < 3*0xe000 {
				ink++
			}
		}
	}
	if len(colours) < 30 || ink*100 < all {
		w.t.Errorf("%d pixels: %d colours, ink on %d of %d: the picture looks blank", width, len(colours), ink, all)
	}
}
