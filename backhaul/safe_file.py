"""Nothing is half written: built in memory, written beside, renamed; no place that is no file."""

import os
import stat
import time
from collections.abc import Callable, Iterable
from hashlib import blake2s
from pathlib import Path

from backhaul.errors import OutputError, reason_of

ABANDONED_S = 3600  # where it cannot be asked whether the writer of a part still runs


def refuse_place(path: Path) -> None:
    """Raise OutputError where nothing can or must be written; nothing is opened for that."""
    try:
        mode = os.lstat(path).st_mode
    except FileNotFoundError:
        mode = None
    except (OSError, ValueError) as error:
        raise OutputError(f"{path}: {getattr(error, 'strerror', None) or error}") from error
    if mode is not None and stat.S_ISDIR(mode):
        raise OutputError(f"{path}: this is a folder; give the name of a file in it")
    if mode is not None and not stat.S_ISREG(mode):
        what = "a link" if stat.S_ISLNK(mode) else "a device or a pipe"
        raise OutputError(f"{path}: this is {what}, no regular file; it is not replaced")
    if not path.parent.is_dir():
        raise OutputError(f"{path}: the folder {path.parent} does not exist")


def refuse_folder(folder: Path, names: Iterable[str] | None = None) -> None:
    """Raise OutputError where a folder for several files is taken, or cannot be made.

    names: of the files that will stand in it beside what is there; else it must be empty.
    """
    if os.path.lexists(folder) and not folder.is_dir():
        what = "a link to no folder" if folder.is_symlink() else "no folder"
        raise OutputError(f"{folder}: this is {what}; give the output the name of a folder")
    try:
        there = [entry.name for entry in folder.iterdir()] if folder.exists() else []
    except OSError as error:
        raise OutputError(f"{folder}: {reason_of(error)}; choose another place") from error
    if names is None and there:
        raise OutputError(f"{folder}: the folder is not empty; choose another name")
    if taken := [name for name in names or () if name in there]:
        raise OutputError(f"{folder}: there is {', '.join(taken)}; name another folder")
    if not folder.parent.is_dir():
        raise OutputError(f"{folder}: the folder {folder.parent} does not exist")


def write_beside_and_rename(
    path: Path, build: Callable[[], bytes], *, source: Path | None = None
) -> None:
    """Write what `build` returns to `path`; on any failure the old file stays whole.

    source: the design that was read, which an output must not replace. Raises OutputError.
    """
    path = Path(path)
    refuse_place(path)
    if source is not None and is_same_file(path, Path(source)):
        raise OutputError(f"{path}: this is the design itself; give the output another name")
    data = build()
    refuse_place(path)  # building takes a while
    _clear_abandoned(path)
    beside = path.parent / f"{_beside(path)}{os.getpid()}.part"
    try:
        with open(beside, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            os.chmod(beside, path.stat().st_mode & 0o777)
        os.replace(beside, path)
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}); what stood there is whole. "
            "Close it where it is open, or choose another place"
        ) from error
    finally:
        beside.unlink(missing_ok=True)


def is_same_file(path: Path, source: Path) -> bool:
    """Whether both are one file, by whatever names."""
    try:
        return path.exists() and source.exists() and path.samefile(source)
    except OSError:
        return False


def _beside(path: Path) -> str:
    """How the names of all parts of an output begin; short, whatever the name is."""
    return f".backhaul-{blake2s(path.name.encode(errors='replace'), digest_size=6).hexdigest()}-"


def _clear_abandoned(path: Path) -> None:
    """Remove what a run left that was killed while it wrote this output."""
    start = _beside(path)
    for part in path.parent.glob(f"{start}*.part"):
        writer = part.name.removeprefix(start).removesuffix(".part")
        try:
            if writer.isdecimal() and not _is_running(int(writer), part):
                part.unlink()
        except OSError:
            continue


def _is_running(process: int, part: Path) -> bool:
    if os.name == "nt":  # no harmless signal there
        return time.time() - part.stat().st_mtime < ABANDONED_S
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return process != os.getpid()
