"""The daybook: what was written down, a page for each day, in sentences; found again, explained, put right."""
