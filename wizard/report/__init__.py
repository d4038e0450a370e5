"""What is told of a case, as values, as a page and as plain text; and what is left out of it. Reads no file."""
