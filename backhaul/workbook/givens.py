"""Every input of the book stands once, on the Givens sheet; other sheets refer to it by key."""

from typing import Any, NamedTuple


class Given(NamedTuple):
    """One input: what it is, its figure and unit, where it comes from."""

    key: str
    group: str
    label: str
    value: float | int | str
    unit: str = ""
    source: str = ""
    where: str = ""


class Givens:
    """Collects inputs while the sheets are laid out; the same key stands once."""

    def __init__(self) -> None:
        self.rows: dict[str, Given] = {}

    def add(
        self, key: str, *, group: str, label: str, value: Any, unit: str = "", source: str = "",
        where: str = "",
    ) -> str | None:
        """Register an input; returns its key, or None where there is no figure."""
        if key in self.rows:
            return key
        if value is None or (isinstance(value, float) and value != value):
            return None
        self.rows[key] = Given(key, group, label, value, unit, source, where)
        return key

    def groups(self) -> dict[str, list[Given]]:
        """Inputs by group, in the order in which the sheets asked for them."""
        groups: dict[str, list[Given]] = {}
        for given in self.rows.values():
            groups.setdefault(given.group, []).append(given)
        return groups

    def project(self, evaluation: Any, setting: str, label: str, unit: str) -> str | None:
        """A setting of the design."""
        project = evaluation.design.project
        typed = setting in project.typed
        return self.add(
            f"given.project.{setting}", group="Project", label=label,
            value=getattr(project, setting), unit=unit,
            source="typed in the design" if typed else "default of the tool",
            where=project.at(setting) if typed else "",
        )  # fmt: skip

    def row(self, row: Any, column: str, label: str, unit: str, value: Any = None) -> str | None:
        """A figure of a segment row."""
        value = getattr(row, column) if value is None else value
        return self.add(
            f"given.row.{row.id}.{column}", group="Segments",
            label=f"{row.path[0]} step {row.step:g} {row.part}: {label}", value=value, unit=unit,
            source=row.at(column), where=row.at(column),
        )  # fmt: skip

    def part(
        self, family: str, record: Any, name: str, label: str, unit: str, value: Any = None,
        key: str = "",
    ) -> str | None:
        """A figure of a part of the catalogues."""
        value = getattr(record, name) if value is None else value
        return self.add(
            f"given.{family}.{record.part}.{key or name}", group="Parts",
            label=f"{record.part}: {label}", value=value, unit=unit,
            source=f"{record.source} ({record.basis})", where=f"catalogs/{family}.csv",
        )  # fmt: skip
