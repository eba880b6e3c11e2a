// Package draw is what every screen is painted with: a canvas of cells with exact
// colours, the greys of everything that is no swatch, text, lists, and the parts
// of a judgement, field, strip, sheet and tooth. It knows nothing of pages and
// exercises in particular.
package draw
