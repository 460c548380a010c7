"""Daily rounds of a small mixed farm, in the terminal."""

__version__ = "0.1.0"
