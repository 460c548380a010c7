"""Laying out a channel before it is drilled."""
