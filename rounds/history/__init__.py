"""The record of everything entered."""
