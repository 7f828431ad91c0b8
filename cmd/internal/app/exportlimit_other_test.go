//go:build !linux

package app

import "errors"

func limitFiles(size uint64) error {
	return errors.New("not on this system")
}
