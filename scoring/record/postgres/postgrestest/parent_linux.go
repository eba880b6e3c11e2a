package postgrestest

import (
	"os/exec"
	"syscall"
)

// dieWithParent has the system end a server whose test was killed.
func dieWithParent(cmd *exec.Cmd) { cmd.SysProcAttr.Pdeathsig = syscall.SIGQUIT }
