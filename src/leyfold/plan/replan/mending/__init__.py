"""Mends: each a whole plan, built for one promise that breaks."""
