"""What the record says, typed, once."""
