"""What changes too slowly to be seen from one day to the next: series of readings, their trends, and what they mean."""
