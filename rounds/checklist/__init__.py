"""What is to be looked at, and when it is due."""
