"""What is believed of a reservoir, and how it learns."""
