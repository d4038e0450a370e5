"""The window: the only part that knows Qt. What happens next is decided in `flow`, which does not."""
