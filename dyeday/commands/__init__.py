"""What each shell command does, one module for each group; `dyeday.cli` is the door that calls them."""
