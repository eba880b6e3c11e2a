package trainer

import "shadedrill/colour"

// sheetGrid lays out one group's tabs: chroma along, hue down. It knows places
// only; what lies there is the asker's.
type sheetGrid struct {
	columns [][]int // item numbers
}

func (g sheetGrid) rows() int {
	n := 0
	for _, col := range g.columns {
		n = max(n, len(col))
	}
	return n
}

// place finds an item.
func (g sheetGrid) place(item int) (col, row int) {
	for c, column := range g.columns {
		for r, i := range column {
			if i == item {
				return c, r
			}
		}
	}
	return 0, 0
}

// step moves from an item by columns or rows. Columns differ in length; moving
// along goes to the place at the same share of the way down.
func (g sheetGrid) step(item, dc, dr int) (to int, moved bool) {
	c, r := g.place(item)
	if dr != 0 {
		r += dr
		if r < 0 || r >= len(g.columns[c]) {
			return item, false
		}
		return g.columns[c][r], true
	}
	n := len(g.columns[c])
	c += dc
	if c < 0 || c >= len(g.columns) {
		return item, false
	}
	m := len(g.columns[c])
	if n > 1 {
		r = (r*(m-1)*2 + (n - 1)) / (2 * (n - 1))
	} else {
		r = (m - 1) / 2
	}
	return g.columns[c][min(r, m-1)], true
}

// gridCell is where an item is painted: the patch, and the row under it where
// its mark goes.
type gridCell struct {
	item  int
	patch rect
}

// lay places the items in a rectangle, with patches no wider than most columns.
// When not all fit, the part around the selected one is shown.
func (g sheetGrid) lay(in rect, at, widest int) []gridCell {
	cols, rows := len(g.columns), g.rows()
	if cols == 0 || in.h < 2 || in.w < leastPitch {
		return nil
	}
	pitchY := max(2, in.h/rows)
	fitY := max(1, in.h/pitchY)
	pitchX, fromX, toX := stretchWithin(in.w, cols, 0, widest)
	selC, selR := g.place(at)
	if toX-fromX < cols {
		pitchX, fromX, toX = stretchWithin(in.w, cols, selC, widest)
	}
	fromY := 0
	if rows > fitY {
		fromY = max(0, min(selR-fitY/2, rows-fitY))
	}
	gap := gapOf(pitchX)
	x0 := in.x + (in.w-(toX-fromX)*pitchX+gap)/2
	var cells []gridCell
	for c := fromX; c < toX; c++ {
		column := g.columns[c]
		// A shorter column stands in the middle of the height, half a row down
		// where need be: its hues lie between those of its neighbours.
		shift := max(0, (min(rows, fitY)-len(column))*pitchY/2)
		if rows > fitY {
			shift = 0
		}
		for r := fromY; r < len(column) && r < fromY+fitY; r++ {
			y := in.y + shift + (r-fromY)*pitchY
			cells = append(cells, gridCell{column[r], rect{x0 + (c-fromX)*pitchX, y, pitchX - gap, pitchY - 1}})
		}
	}
	return cells
}

// drawGrid paints the cells and marks those chosen.
func drawGrid(c *canvas, cells []gridCell, m marks, colourOf func(int) colour.SRGB, paint func(rect, colour.SRGB)) {
	for _, cell := range cells {
		paint(cell.patch, colourOf(cell.item))
		if m.on(cell.item) {
			bracket(c, cell.patch.x, cell.patch.y+cell.patch.h, cell.patch.w, c.tone.strong)
		}
		c.item(rect{cell.patch.x, cell.patch.y, cell.patch.w, cell.patch.h + 1}, cell.item)
	}
}
