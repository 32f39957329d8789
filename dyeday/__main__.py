"""``python -m dyeday`` is the same door as the ``dyeday`` command."""

from dyeday.cli import main

raise SystemExit(main())
