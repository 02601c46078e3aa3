"""Feed in store and on order, mixed at home, and water hauled."""
