"""Leyfold: the season of a small pasture poultry farm, from the egg to the laying flock."""
