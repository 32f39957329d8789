"""The sheets, a module each, and the lines of the forecast that paper shares with screens."""
