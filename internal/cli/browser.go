package cli

import (
	"os/exec"
	"runtime"
)

// openBrowser asks the desktop to show an address. Where there is none, nothing happens: the address is printed.
func openBrowser(url string) {
	name, args := "xdg-open", []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return
	}
	go func() { _ = cmd.Wait() }() // how the browser fares is its own affair
}
