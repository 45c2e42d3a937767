"""Nothing is half written: built in memory, written beside, renamed."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from backhaul.errors import OutputError


def write_beside_and_rename(
    path: Path, build: Callable[[], bytes], *, source: Path | None = None
) -> None:
    """Write what `build` returns to `path`; on any failure the old file stays whole.

    source: the design that was read, which an output must not replace. Raises OutputError.
    """
    path = Path(path)
    if source is not None and _same_file(path, Path(source)):
        raise OutputError(f"{path}: this is the design itself; give the output another name")
    if path.is_dir():
        raise OutputError(f"{path}: this is a folder; give the name of a file in it")
    if not path.parent.exists():
        raise OutputError(f"{path}: the folder {path.parent} does not exist")
    data = build()
    beside = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        beside = Path(name)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(beside, _mode(path))
        os.replace(beside, path)
        beside = None
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); what stood there is whole. "
            "Close it where it is open, or choose another place"
        ) from error
    finally:
        if beside is not None:
            beside.unlink(missing_ok=True)


def _mode(path: Path) -> int:
    """Permissions of the file that is replaced, else those of a new file."""
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _same_file(path: Path, source: Path) -> bool:
    try:
        return (
            path.exists()
            and source.exists()
            and (
                path.samefile(source)
                or (
                    source.is_dir()
                    and path.resolve().is_relative_to(source.resolve())
                    and path.suffix.lower() == ".csv"
                )
            )
        )
    except OSError:
        return False
