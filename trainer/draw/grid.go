package draw

import "shadedrill/colour"

// Grid lays out one group's tabs: chroma along, hue down. It knows places
// only; what lies there is the asker's.
type Grid struct {
	Columns [][]int // item numbers
}

// Rows is how many items the longest column has.
func (g Grid) Rows() int {
	n := 0
	for _, col := range g.Columns {
		n = max(n, len(col))
	}
	return n
}

// place finds an item.
func (g Grid) place(item int) (col, row int) {
	for c, column := range g.Columns {
		for r, i := range column {
			if i == item {
				return c, r
			}
		}
	}
	return 0, 0
}

// Step moves from an item by columns or rows. Columns differ in length; moving
// along goes to the place at the same share of the way down.
func (g Grid) Step(item, dc, dr int) (to int, moved bool) {
	c, r := g.place(item)
	if dr != 0 {
		r += dr
		if r < 0 || r >= len(g.Columns[c]) {
			return item, false
		}
		return g.Columns[c][r], true
	}
	n := len(g.Columns[c])
	c += dc
	if c < 0 || c >= len(g.Columns) {
		return item, false
	}
	m := len(g.Columns[c])
	if n > 1 {
		r = (r*(m-1)*2 + (n - 1)) / (2 * (n - 1))
	} else {
		r = (m - 1) / 2
	}
	return g.Columns[c][min(r, m-1)], true
}

// Cell is where an item is painted: the patch.
type Cell struct {
	item  int
	patch Rect
}

// Lay places the items in a rectangle, with patches no wider than most columns.
// When not all fit, the part around the selected one is shown.
func (g Grid) Lay(in Rect, at, widest int) []Cell {
	cols, rows := len(g.Columns), g.Rows()
	if cols == 0 || in.H < 2 || in.W < leastPitch {
		return nil
	}
	pitchY := max(2, in.H/rows)
	fitY := max(1, in.H/pitchY)
	pitchX, fromX, toX := stretchWithin(in.W, cols, 0, widest)
	selC, selR := g.place(at)
	if toX-fromX < cols {
		pitchX, fromX, toX = stretchWithin(in.W, cols, selC, widest)
	}
	fromY := 0
	if rows > fitY {
		fromY = max(0, min(selR-fitY/2, rows-fitY))
	}
	gap := gapOf(pitchX)
	x0 := in.X + (in.W-(toX-fromX)*pitchX+gap)/2
	var cells []Cell
	for c := fromX; c < toX; c++ {
		column := g.Columns[c]
		// A shorter column stands in the middle of the height, half a row down
		// where need be: its hues lie between those of its neighbours.
		shift := max(0, (min(rows, fitY)-len(column))*pitchY/2)
		if rows > fitY {
			shift = 0
		}
		for r := fromY; r < len(column) && r < fromY+fitY; r++ {
			y := in.Y + shift + (r-fromY)*pitchY
			cells = append(cells, Cell{column[r], Rect{x0 + (c-fromX)*pitchX, y, pitchX - gap, pitchY - 1}})
		}
	}
	return cells
}

// Cells paints the cells and marks those chosen.
func Cells(c *Canvas, cells []Cell, m Marks, colourOf func(int) colour.SRGB, paint func(Rect, colour.SRGB)) {
	for _, cell := range cells {
		paint(cell.patch, colourOf(cell.item))
		if m.on(cell.item) {
			Sides(c, cell.patch, c.Tone.Strong)
		}
		c.Item(Rect{cell.patch.X, cell.patch.Y, cell.patch.W, cell.patch.H + 1}, cell.item)
	}
}
