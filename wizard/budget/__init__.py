"""What the bus can carry and who uses it, by the published standards. Knows no cause and no remedy."""
