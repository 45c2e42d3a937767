"""What all tests share: LibreOffice where it is needed, and how Hypothesis looks for examples."""

import os
import shutil

import pytest
from hypothesis import settings

IS_CI = os.environ.get("CI", "").lower() not in ("", "0", "false")
FUZZ_SEED = os.environ.get("FUZZ_SEED")
# Commands under test keep their bytecode, as where backhaul is installed: some hundreds of processes
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# The same examples every time, unless FUZZ_SEED asks for others
settings.register_profile("fixed", deadline=None, derandomize=True, print_blob=True)
settings.register_profile("fuzz", deadline=None, print_blob=True)
settings.load_profile("fuzz" if FUZZ_SEED else "fixed")


@pytest.hookimpl(tryfirst=True)  # before the plugin reads it
def pytest_configure(config: pytest.Config) -> None:
    """A fuzzing run starts where its number says, so that it can be repeated."""
    if FUZZ_SEED:
        config.option.hypothesis_seed = int(FUZZ_SEED)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Without LibreOffice its tests are skipped, except on CI, which may not do without it."""
    if item.get_closest_marker("office") and not shutil.which("soffice"):
        if IS_CI:
            pytest.fail("soffice is missing, and CI may not do without it")
        pytest.skip("soffice is not installed")
