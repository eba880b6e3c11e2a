//go:build !linux

package draft

import (
	"errors"
	"os"
)

func nameless(string) (*os.File, error) { return nil, errors.ErrUnsupported }

func name(*os.File, string) error { return errors.ErrUnsupported }
