"""A race lost once in a thousand is not seen in one run: ``pytest tests/races --rounds 200`` runs each so often."""

from __future__ import annotations

import pytest


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    rounds = metafunc.config.getoption("--rounds")
    if rounds > 1:
        metafunc.fixturenames.append("nth_round")
        metafunc.parametrize("nth_round", range(rounds))
