"""What all tests share: LibreOffice where it is needed, and how Hypothesis looks for examples."""

import os
import shutil

import pytest
from hypothesis import settings

IS_CI = os.environ.get("CI", "").lower() not in ("", "0", "false")

settings.register_profile("local", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if IS_CI else "local")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Without LibreOffice its tests are skipped, except on CI, which may not do without it."""
    if item.get_closest_marker("office") and not shutil.which("soffice"):
        if IS_CI:
            pytest.fail("soffice is missing, and CI may not do without it")
        pytest.skip("soffice is not installed")
