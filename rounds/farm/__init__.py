"""What the farm is: its model, and loading it with errors that name file, key and expectation."""
