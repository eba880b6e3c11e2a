package draft

import (
	"fmt"
	"os"
	"syscall"
	"unsafe"
)

// nameless opens a file without a name in a folder (open(2), O_TMPFILE). Not every file
// system has them.
func nameless(folder string) (*os.File, error) {
	const tmpfile = 0o20000000 | syscall.O_DIRECTORY
	fd, err := syscall.Open(folder, syscall.O_RDWR|syscall.O_CLOEXEC|tmpfile, 0o600)
	if err != nil {
		return nil, err
	}
	return os.NewFile(uintptr(fd), folder), nil
}

// name gives it one (linkat(2) by way of /proc, which needs no rights of its own);
// fs.ErrExist where something has it.
func name(f *os.File, path string) error {
	from, err := syscall.BytePtrFromString(fmt.Sprintf("/proc/self/fd/%d", f.Fd()))
	if err != nil {
		return err
	}
	to, err := syscall.BytePtrFromString(path)
	if err != nil {
		return err
	}
	const here, follow = -100, 0x400 // AT_FDCWD, AT_SYMLINK_FOLLOW
	at := here
	if _, _, errno := syscall.Syscall6(syscall.SYS_LINKAT, uintptr(at), uintptr(unsafe.Pointer(from)), uintptr(at), uintptr(unsafe.Pointer(to)), follow, 0); errno != 0 {
		return errno
	}
	return nil
}
