"""The sums behind the figures of a season, one process a module, through the same equations of `nature`.

Each function takes a bird of one lot on one day and gives a `Step`: its value by the equation, and beside it
the formula and the numbers that make it. Nothing here is kept while a season is reckoned.
"""
