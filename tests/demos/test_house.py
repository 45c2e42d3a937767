"""Imports go one way, modules stay short, DEVELOPERS.md names what is there."""

import ast
import fnmatch
import graphlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "backhaul"
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
LONGEST = 350

TOP = {"pyproject.toml", "README.md", "DEVELOPERS.md", "backhaul", "catalogs", "tests", "demo"}

#: Top first. A module imports only from the layers below its own, or from its own part.
LAYERS = (
    {"__main__"},
    {"cli"},
    {"__init__"},
    {"api"},
    {"evaluation"},
    {"report"},
    {"book"},
    {"drawing"},
    {"remedies"},
    {"revisions"},
    {"as_built"},
    {"checks"},
    {"budgets"},
    {"figures"},
    {"elevation"},
    {"path"},
    {"design", "catalog"},
    {"tables"},
    {"physics"},
    {"spreadsheet"},
    {"findings", "methods", "units", "errors", "wording", "safe_file", "progress", "exit_status"},
)
LEVEL = {name: level for level, names in enumerate(LAYERS) for name in names}
MODULES = sorted(PACKAGE.rglob("*.py"))


def part_of(module: Path) -> str:
    """Folder or single module right under the package."""
    first = module.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports(module: Path) -> set[tuple[int, str]]:
    """Parts of the package that a module imports, wherever in it, with the line."""
    found = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{module}:{node.lineno}: a relative import"
            names = [node.module]
            if node.module == "backhaul":
                names = [f"backhaul.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            words = name.split(".")
            if words[0] == "backhaul":
                part = words[1] if len(words) > 1 else "__init__"
                found.add((node.lineno, "__init__" if part == "__version__" else part))
    return found


def names_of(module: Path) -> set[str]:
    """What a module defines or imports, in its own body."""
    found = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found.add(node.name)
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            found.add(node.id)
        elif isinstance(node, ast.ImportFrom | ast.Import):
            found |= {alias.asname or alias.name for alias in node.names}
    return found


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_what_is_imported_is_there(module):
    """Sheets are loaded when a book is made: a name that went would be missed there only."""
    by_name = {dotted(each): each for each in MODULES}
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module in by_name:
            known = names_of(by_name[node.module])
            for alias in node.names:
                name = f"{node.module}.{alias.name}"
                lazy = by_name[node.module].name == "__init__.py"
                assert alias.name in known or name in by_name or lazy, f"{module}: {name}"


def test_the_top_level():
    """Nothing else lies there, but dot files and what git ignores."""
    ignored = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    ignored = [pattern.strip("/") for pattern in ignored] + [".*"]
    found = {path.name for path in ROOT.iterdir()}
    found -= {name for name in found if any(fnmatch.fnmatch(name, each) for each in ignored)}
    assert found - {"PKG-INFO"} == TOP  # which a source distribution adds


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_go_one_way(module):
    own = part_of(module)
    assert own in LEVEL, f"{own} has no layer: give it one in LAYERS and in DEVELOPERS.md"
    for line, part in imports(module):
        if part in (own, "__init__"):
            continue
        if LEVEL[own] == LEVEL[part] == len(LAYERS) - 1:
            continue
        assert LEVEL[own] < LEVEL[part], f"{module}:{line}: {own} imports {part}"


def dotted(module: Path) -> str:
    """Name of a module as an import writes it."""
    return ".".join(module.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def modules_imported(module: Path) -> set[str]:
    """Modules of the package that a module imports, those inside functions too."""
    known = {dotted(each) for each in MODULES}
    found = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= inside & known or {node.module}
    return found & known - {dotted(module), "backhaul"}


def test_no_circle_of_modules():
    graphlib.TopologicalSorter({dotted(m): modules_imported(m) for m in MODULES}).prepare()


def test_a_circle_would_be_seen():
    with pytest.raises(graphlib.CycleError):
        graphlib.TopologicalSorter({"a": {"b"}, "b": {"a"}}).prepare()


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_modules_stay_short(module):
    assert len(module.read_text(encoding="utf-8").splitlines()) <= LONGEST


def test_tests_stay_short():
    for module in (ROOT / "tests").rglob("*.py"):
        assert len(module.read_text(encoding="utf-8").splitlines()) <= LONGEST, module


#: Formulas with a published check that no figure asks yet.
WAITING = {"backhaul.physics.antennas.polarization_loss_db"}


def asked(module: Path) -> set[str]:
    """Functions of the physics that a module asks: imported, through their module, or its own."""
    tree, own = ast.parse(module.read_text(encoding="utf-8")), dotted(module)
    known, found, places = {dotted(each) for each in MODULES}, set(), {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            names = {
                alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names
            }
            found |= set(names.values()) - known
            places |= {name: path for name, path in names.items() if path in known}
    for top in tree.body:
        for node in ast.walk(top):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                found.add(f"{places.get(node.value.id)}.{node.attr}")
            elif isinstance(node, ast.Name) and node.id != getattr(top, "name", None):
                found.add(f"{own}.{node.id}")
    return found


def test_no_formula_serves_tests_alone():
    used = set().union(*map(asked, MODULES))
    formulas = {
        f"{dotted(module)}.{node.name}"
        for module in MODULES
        if part_of(module) == "physics"
        for node in ast.parse(module.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef)
    }
    assert formulas - used <= WAITING


def test_a_wrong_import_would_be_seen(tmp_path):
    wrong = tmp_path / "wrong.py"
    wrong.write_text("def f():\n    from backhaul.report import terminal\n", encoding="utf-8")
    assert imports(wrong) == {(2, "report")}
    assert LEVEL["physics"] > LEVEL["report"]


def test_developers_names_every_part():
    for part in {part_of(module) for module in MODULES} - {"__init__", "__main__"}:
        assert part in DEVELOPERS, part


def test_developers_names_only_what_is_there():
    """Every path in `back quotes` with a slash or a known ending exists."""
    names = re.findall(r"`([\w./*<>-]+)`", DEVELOPERS)
    paths = [name for name in names if re.search(r"/|\.(py|csv|md|toml|xlsx)$", name)]
    assert len(paths) > 20
    bases = (ROOT, PACKAGE, ROOT / "tests")
    for name in paths:
        if "<" not in name:
            assert any(list(base.glob(name.rstrip("/"))) for base in bases), name


@pytest.mark.parametrize("recipe", ["kind", "check", "sheet", "part", "formula", "setting"])
def test_developers_has_a_recipe(recipe):
    assert re.search(rf"^### .*\b{recipe}\b", DEVELOPERS, re.MULTILINE)


def test_the_example_of_a_formula_runs():
    """The example of the two ideas is code: figure, array and cell from one function."""
    (example,) = re.findall(r"^```python\n(.*?)^```$", DEVELOPERS, re.MULTILINE | re.DOTALL)[:1]
    names: dict = {}
    exec(example, names)
    assert names["figure"] == pytest.approx(13.9257, abs=5e-5)
    assert names["array"].shape == (3,)
    assert names["text"] == "IF(B4>-0.78,6.9+20*LOG10(SQRT((B4-0.1)^2+1)+(B4-0.1)),0)"
