"""What macOS itself says of USB: its USB report, log lines and volumes."""
