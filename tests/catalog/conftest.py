import pytest

from backhaul.catalog import load_catalog


@pytest.fixture(scope="session")
def catalog():
    return load_catalog()


@pytest.fixture
def lay_over(tmp_path):
    """Writes files into a folder and loads the catalogues with it on top."""

    def write(files: dict[str, str], encoding: str = "utf-8"):
        place = tmp_path / "mine"
        place.mkdir(exist_ok=True)
        for name, content in files.items():
            (place / name).write_bytes(content.encode(encoding))
        return load_catalog([place])

    return write
