"""The demo season that the command made: ``COOKSTUDY_SEASON`` names its folder."""

import os
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def season() -> Path:
    named = os.environ.get("COOKSTUDY_SEASON")
    assert named, "name the folder of `cookstudy demo --out DIR` in COOKSTUDY_SEASON"
    return Path(named)


@pytest.fixture(scope="session")
def store(season: Path) -> Path:
    return season / "store"


@pytest.fixture(scope="session")
def settings(season: Path) -> Path:
    return season / "season.toml"
