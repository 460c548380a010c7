"""The command line: thin, one function per verb; the place that wires things together."""
