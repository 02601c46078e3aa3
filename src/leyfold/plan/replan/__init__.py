"""The plan made anew when something happened: the past fixed, promises dear to move, the smallest change."""
