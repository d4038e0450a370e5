"""The best arrangement: which plug goes into which socket, with every budget held and the fewest plugs moved."""
