"""Files whatever is in them: written whole or not at all, locked, read with limits; this computer's own folders."""
