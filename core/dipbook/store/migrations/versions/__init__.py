"""One revision a file."""
