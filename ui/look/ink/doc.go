// Package ink lets package sketch draw smooth shapes and text into a raster in
// device-independent pixels, so that a widget painted by one canvas.Raster, its
// [Board], is crisp at any scale of the display.
//
// A [Pen] belongs to the goroutine that made it; widgets use theirs on the UI
// goroutine only.
package ink
