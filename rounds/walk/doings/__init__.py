"""What the grower did unasked: typed in the line, understood, shown, saved."""
