"""One module per page. A page shows a session and says what the user did; it decides nothing."""
