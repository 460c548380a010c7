"""Pure formulas. Imports the standard library and rounds.errors alone."""
