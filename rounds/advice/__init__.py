"""Readings in, findings and corrections out."""
