"""Why it misbehaves: a rulebook as data, evidence that adds up openly, and the next useful question."""
