"""One trouble from the first question to the verified fix, as a value and as a document."""
