package ui

// quickRate is the sample rate in Hz of recordings whose sound is not the point.
const quickRate = 16000
