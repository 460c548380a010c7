"""The few widgets that several screens share."""
