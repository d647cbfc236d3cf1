"""What the page asks for over HTTP, by subject."""
