"""How often is killed, and from which seed."""

import os

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    usual = int(os.environ.get("TUBERTRACK_KILLS", "10"))
    parser.addoption("--kills", type=int, default=usual, help=f"on each database ({usual})")
    parser.addoption(
        "--kill-seed", type=int, default=0, help="repeats the moments of an earlier run"
    )
