"""From a plan to what follows: complete it, expect it, try it many times, learn from the records."""
