// Command pouchward judges pulled lithium-ion cells for repair shops.
package main

import (
	"os"
	"time"

	"pouchward/cmd/internal/cli"
)

func main() {
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, time.Now))
}
