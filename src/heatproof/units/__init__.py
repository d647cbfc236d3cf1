"""Text to SI and back; one declaration type for every quantity in a file."""
