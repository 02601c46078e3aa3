"""Today's work and the look-ahead."""
