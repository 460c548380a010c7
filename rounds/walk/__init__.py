"""One round, from its start to its closing: what the screens and the command line do alike."""
