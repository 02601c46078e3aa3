"""Money: rates, what a season costs and brings, and what a choice is worth."""
