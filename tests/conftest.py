"""No test is timed, not even by hypothesis: a machine that is busy fails none."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.register_profile("dig", deadline=None)
settings.load_profile("untimed")
