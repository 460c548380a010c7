"""One file per screen, its .tcss beside it."""
