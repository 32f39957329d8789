"""What each shell command does; `dyeday.cli` calls them by name."""
