// Package plotting draws Lagwright's figures with gonum/plot: the
// lag-versus-tempo curve, the hit fan, the picture of a take, its report and the
// setting card. It also makes the table of all readings.
//
// What the window draws too, the fan, the plate and the colours, is package sketch's,
// drawn here on a page.
//
// Each kind of figure is a plain value (Curve, Fan, Picture, Report, Card) whose Figure method
// copies what it needs and returns a *Figure. A Figure never changes, so it may
// be drawn from any goroutine, at any size on screen and as PNG, SVG or PDF on
// paper; a card may take several pages, and is a table (CSV) too. Values that are not finite never reach an axis: they are left out and
// the figure says how many.
//
// gonum/plot hangs on NaN in an axis and takes time quadratic in the points of a
// line: ranges are guarded and lines thinned here. Its PDF writer embeds one font;
// pdf.go works round that.
//
// A card of several pages that is saved as PNG or SVG puts a mark into each further
// page (mark.go). Saving a shorter card removes the pages beyond its last whose mark
// still holds, and nothing else.
//
// Lags are in milliseconds and positive when the voice is late; tempo is in
// beats per minute; a positive setting makes the voice earlier. Lengths inside
// the package are points; on screen one point is one device-independent pixel.
package plotting
