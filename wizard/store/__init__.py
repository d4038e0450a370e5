"""Files of our own: resources, demos, saved cases, logs. Knows where things lie; judges nothing about USB."""
