"""How a plan is completed: stays that were written, and places for all the rest."""
