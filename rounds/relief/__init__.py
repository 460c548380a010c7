"""Handing the rounds to a helper, and taking them back."""
