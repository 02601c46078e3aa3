"""Ways out where no plan fits: the farm with one thing more, or one wish less."""
