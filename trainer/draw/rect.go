package draw

// Margin is what pages leave free at the left and at the right.
const Margin = 2

// Rect is a rectangle of character cells.
type Rect struct{ X, Y, W, H int }

// Box is the rectangle of w columns and h rows whose upper left cell is (x, y).
func Box(x, y, w, h int) Rect { return Rect{x, y, w, h} }

// Contains reports whether a cell lies in the rectangle.
func (r Rect) Contains(x, y int) bool { return x >= r.X && x < r.X+r.W && y >= r.Y && y < r.Y+r.H }

// Top cuts n rows off the upper end and returns them and the rest.
func (r Rect) Top(n int) (cut, rest Rect) {
	n = max(0, min(n, r.H))
	return Rect{r.X, r.Y, r.W, n}, Rect{r.X, r.Y + n, r.W, r.H - n}
}

// Bottom cuts n rows off the lower end and returns the rest and the rows.
func (r Rect) Bottom(n int) (rest, cut Rect) {
	n = max(0, min(n, r.H))
	return Rect{r.X, r.Y, r.W, r.H - n}, Rect{r.X, r.Y + r.H - n, r.W, n}
}

// Inset leaves a margin free at the sides.
func (r Rect) Inset(dx int) Rect { return Rect{r.X + dx, r.Y, r.W - 2*dx, r.H} }

// Middle returns a rectangle of the given size in the middle of r.
func (r Rect) Middle(w, h int) Rect {
	w, h = min(w, r.W), min(h, r.H)
	return Rect{r.X + (r.W-w)/2, r.Y + (r.H-h)/2, w, h}
}
