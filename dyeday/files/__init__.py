"""Files of any content: written whole or not at all, locked, read with limits; this computer's own folders."""
