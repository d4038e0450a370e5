"""What was seen on the bus, as plain values. Knows no operating system, no budget and no cause."""
