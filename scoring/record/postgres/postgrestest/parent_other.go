//go:build unix && !linux

package postgrestest

import "os/exec"

func dieWithParent(*exec.Cmd) {}
