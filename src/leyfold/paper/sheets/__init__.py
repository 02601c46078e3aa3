"""Sheets to print: each a module that composes blocks; one template lays them out."""
