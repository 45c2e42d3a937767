"""What the tests of workbooks share."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import recalculation`


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "office: needs LibreOffice (soffice)")


@pytest.fixture(autouse=True)
def _office_where_marked(request: pytest.FixtureRequest) -> None:
    import recalculation

    if request.node.get_closest_marker("office") and not recalculation.has_office():
        if recalculation.office_is_required():
            pytest.fail("soffice is missing, and CI may not do without it")
        pytest.skip("soffice is not installed")
