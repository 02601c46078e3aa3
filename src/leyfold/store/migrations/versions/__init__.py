"""The versions of what is stored, oldest first."""
