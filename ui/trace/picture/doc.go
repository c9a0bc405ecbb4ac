// Package picture draws a stretch of a take: the reference above the line and the voice
// below it, hits as pins, and the brackets of pairs with their lags. It knows nothing of
// the widget that shows it.
package picture
