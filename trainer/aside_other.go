//go:build !unix

package trainer

// setAside is nil where there are no jobs.
var setAside func()
