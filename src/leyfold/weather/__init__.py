"""Weather: readers of files and forecasts, a typical year, and the air at the birds' height."""
