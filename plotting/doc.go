// Package plotting draws Lagwright's figures on gonum/plot's canvases: the lag-versus-tempo
// curve, settings against tempo, lags from day to day, the hit fan, the picture of a
// take, its report and the setting card. It also makes the table of all readings.
// What the window draws too, the fan, the plate and the colours, is package sketch's,
// drawn here on a page.
//
// What is drawn is a plain value (Curve, Staircase, Days, Picture, Report, Card) made of
// a machine's View; its Figure method returns a *Figure, which never changes and may be
// drawn from any goroutine, at any size on screen and as PNG, SVG or PDF. A figure of
// several pages is a PDF of as many, and one tall picture; some are a table (CSV) too.
//
// The axes are drawn here, in one way for all figures. Values that are not finite never
// reach one, ranges are guarded and lines thinned. The library's PDF writer embeds one
// font; pdf.go works round that.
//
// Lags are in milliseconds and positive when the voice is late; tempo is in
// beats per minute; a positive setting makes the voice earlier. Lengths inside
// the package are points; on screen one point is one device-independent pixel.
package plotting
