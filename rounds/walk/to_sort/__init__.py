"""Still to sort: what went wrong, or was left in a passing state, and is not settled."""
