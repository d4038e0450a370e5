"""Files in which other systems say what they see: exported events, device lists, USB reports, log text."""
