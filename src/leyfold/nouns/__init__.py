"""The nouns of the farm: frozen dataclasses that the rooms exchange, errors and the clock."""
