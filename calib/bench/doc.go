// Package bench joins the arrows: it takes a recording of the real or the
// simulated machine from samples to a kept take with its reading and advice,
// and says where the loop stands. The window and the command line both work
// through it, so that what one does the other can do too.
package bench
