"""Use cases: what a shell asks for, from the farm's files to an answer."""
