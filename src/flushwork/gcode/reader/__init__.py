"""G-code to moves by the published rules; shares only the move records with the writer."""
