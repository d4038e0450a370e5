"""In the machine: more devices than the controller has slots for. Writes the look and the kernel's log to /run/lab."""

from lab.guest.inside import kernel_log, portmend, settle

settle(quiet=2.0, longest=90.0)
portmend("look", "look", "--json")
kernel_log("log.txt")
