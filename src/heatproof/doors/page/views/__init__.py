"""What each screen shows, as plain data: one file a screen. Numbers in the units of the screen, texts ready to show."""
