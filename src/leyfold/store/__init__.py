"""What was recorded, kept: one SQLite file in the farm's folder, its upgrades, copies, and who may write."""
