"""No test is timed, not even by hypothesis: a machine that is busy fails none.

``--reference-least N`` fails a run in which fewer tests against outside libraries passed: skipped is not compared.
"""

from __future__ import annotations

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.register_profile("dig", deadline=None)
settings.load_profile("untimed")

_PASSED: set[str] = set()
"""tests against an outside library that ran and passed"""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--reference-least", type=int, default=0, help="reference tests that must have run and passed")


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.when == "call" and report.passed and "reference" in report.keywords:
        _PASSED.add(report.nodeid)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    least = session.config.getoption("--reference-least")
    # Workers of xdist see their own share only; the one that collects all of it has no workerinput.
    if least and not hasattr(session.config, "workerinput") and len(_PASSED) < least:
        print(f"\n{len(_PASSED)} tests against outside libraries passed; at least {least} must")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
