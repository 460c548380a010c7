"""Mix sheets for working acids, bases and concentrates."""
