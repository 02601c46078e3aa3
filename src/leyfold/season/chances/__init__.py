"""What goes into a season tried by whole birds and into exact chances: luck, foxes, weather, streams."""
