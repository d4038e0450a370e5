"""Looking at a real bus, or at a captured one. Knows the shape of a snapshot and nothing above it."""
