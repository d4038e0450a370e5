"""What Windows itself says of USB: its device list, problem codes, events, power plan and disks."""
