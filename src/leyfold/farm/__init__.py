"""The farm file, and the cited figures that fill what it leaves out."""
