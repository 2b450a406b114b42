"""The house rules that a machine can read: directions, docstrings, sources, imports, sizes, and
where tests have their values from.
"""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from loadsim.base.errors import InputError
from loadsim.base.sources import Source, cited_in, load_sources

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "loadsim"

#: the folders in the order of the derivation; imports run down it only, and the command line stands on top
FOLDERS = (
    "base",
    "mechanics",
    "materials",
    "job",
    "loads",
    "risk",
    "words",
    "answers",
    "report",
    "page",
)
ORDER = {name: i for i, name in enumerate((*FOLDERS, "cli", "__init__", "__main__"))}
TOP = {*FOLDERS, "cli.py", "__init__.py", "__main__.py", "py.typed"}
#: geometry and the force law are what a room of mechanics may take from another
GEOMETRY = {"polygon", "stock", "sections", "force_law"}

#: the closed list of unit spellings in docstrings
UNIT_SPELLINGS = {
    "mm", "mm^2", "mm^3", "mm^4", "N", "N*mm", "N/mm", "MPa", "GPa", "rad", "deg", "s", "Hz", "rpm", "mm/s",
    "mm/min", "m/min", "W", "1", "1/s", "kg/m^3", "HV", "HRC", "um", "rad/s", "N*mm/s", "mm^3/min",
    "mm/tooth",
}  # fmt: skip
HEAVY = ("pandas", "plotly", "scipy.stats", "scipy.optimize", "jinja2")
MAX_BODY = 40
MAX_MODULE = 350
MAX_CHAIN = 20


def folder(path: Path) -> str:
    """The folder of a file, or the file itself where it stands on top."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def name_of(path: Path) -> str:
    """A file as a module: mechanics.force."""
    return ".".join(path.relative_to(PACKAGE).with_suffix("").parts)


FILES = sorted(PACKAGE.rglob("*.py"))
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in FILES}
MODULES = {name_of(p).removesuffix(".__init__"): p for p in FILES}
by_file = pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))


def imported(tree: ast.AST, path: Path) -> Iterator[tuple[str, str]]:
    """Every import, anywhere in the file, as (module, name); relative ones made absolute."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            if node.level:
                parts = ["loadsim", *path.relative_to(PACKAGE).parts][: -node.level]
                module = ".".join([*parts, module]).rstrip(".")
            yield from ((module, alias.name) for alias in node.names)


def modules_imported(path: Path) -> set[str]:
    """The files of the package that a file imports, at once or when it is needed."""
    found = set()
    for module, name in imported(TREES[path], path):
        if module.split(".")[0] == "loadsim":
            inside = module.partition(".")[2]
            full = f"{inside}.{name}".strip(".")
            found.add(full if full in MODULES else inside or "__init__")
    return found


# ---- (a) folders and direction


def test_the_package_holds_its_folders_and_nothing_else() -> None:
    assert {p.name for p in PACKAGE.iterdir() if p.name != "__pycache__"} == TOP
    inside = [p for p in FILES if p.name == "__init__.py" and p.parent != PACKAGE]
    assert not [str(p) for p in inside if p.read_text(encoding="utf-8")], "these hold nothing"


@by_file
def test_imports_point_down(path: Path) -> None:
    here = folder(path)
    for module in modules_imported(path) - {"base.version"}:
        there = module.split(".")[0]
        assert there == here or ORDER[there] < ORDER[here], f"{name_of(path)} imports {module}"


def test_no_circle_inside_a_folder() -> None:
    left = {n: modules_imported(p) & set(MODULES) - {n} for n, p in MODULES.items()}
    while free := [n for n, needs in left.items() if not needs & left.keys()]:
        for n in free:
            del left[n]
    assert not left, f"a circle among {sorted(left)}"


def test_no_long_way_down() -> None:
    needs = {n: modules_imported(p) & set(MODULES) - {n} for n, p in MODULES.items()}
    floors: dict[str, int] = {}
    while ready := [n for n in needs if n not in floors and needs[n] <= floors.keys()]:
        floors |= {n: 1 + max((floors[m] for m in needs[n]), default=0) for n in ready}
    assert max(floors.values()) <= MAX_CHAIN, "files from __main__ down to the errors"


@pytest.mark.parametrize("path", [p for p in FILES if folder(p) == "mechanics"], ids=name_of)
def test_mechanics_takes_geometry_alone_from_its_neighbours(path: Path) -> None:
    near = {m.split(".")[-1] for m in modules_imported(path) if m.startswith("mechanics.")}
    if "peers" not in path.parts:  # a rival may call what it is held against
        assert near <= GEOMETRY, f"{path.name} imports {sorted(near - GEOMETRY)}"
    top = {module.split(".")[0] for module, _ in imported(TREES[path], path)}
    assert not top & {"pydantic", "tomllib", "json", "click"}, path.name


# ---- (b) docstrings

SECTION = re.compile(r"^(\S.*)\n-{3,}\s*$", re.MULTILINE)
PARAMETER = re.compile(r"^(\*{0,2}\w+(?:, *\*{0,2}\w+)*) *:", re.MULTILINE)
ENDING_UNIT = re.compile(r"\[([^\[\],\n]+)\]\.?$", re.MULTILINE)  # with a comma it is an interval
Function = ast.FunctionDef | ast.AsyncFunctionDef


def sections(doc: str) -> dict[str, str]:
    parts = SECTION.split(doc)
    return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def public_functions(tree: ast.Module) -> Iterator[tuple[str, Function, bool]]:
    for node in tree.body:
        if isinstance(node, Function) and not node.name.startswith("_"):
            yield node.name, node, False
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for inner in node.body:
                if not isinstance(inner, Function) or inner.name.startswith("_"):
                    continue
                # an override without one has the docstring of the method it stands in for
                if not node.bases or ast.get_docstring(inner):
                    yield f"{node.name}.{inner.name}", inner, True


def signature(node: Function, is_method: bool) -> list[str]:
    a = node.args
    static = any(isinstance(d, ast.Name) and d.id == "staticmethod" for d in node.decorator_list)
    names = [arg.arg for arg in [*a.posonlyargs, *a.args]]
    names = names[1:] if is_method and not static else names
    names += [f"*{a.vararg.arg}"] if a.vararg else []
    names += [arg.arg for arg in a.kwonlyargs]
    return names + ([f"**{a.kwarg.arg}"] if a.kwarg else [])


def documented(doc: str) -> list[str]:
    section = sections(doc).get("Parameters", "")
    return [name.strip() for line in PARAMETER.findall(section) for name in line.split(",")]


DOCUMENTED = [
    p for p in FILES if name_of(p) in ("base.units", "base.ranges") or folder(p) == "mechanics"
]
FUNCTIONS = [(p, *entry) for p in DOCUMENTED for entry in public_functions(TREES[p])]


@pytest.mark.parametrize(
    ("path", "name", "node", "is_method"),
    FUNCTIONS,
    ids=[f"{name_of(f[0])}.{f[1]}" for f in FUNCTIONS],
)
def test_parameters_are_documented_in_order(
    path: Path, name: str, node: Function, is_method: bool
) -> None:
    doc = ast.get_docstring(node)
    assert doc, f"{path.name}: {name} has no docstring"
    assert documented(doc) == signature(node, is_method), (
        f"{path.name}: {name}: Parameters, in this order"
    )


@pytest.mark.parametrize("path", DOCUMENTED, ids=name_of)
def test_units_in_docstrings_are_from_the_list(path: Path) -> None:
    docs = [
        ast.get_docstring(n) or ""
        for n in ast.walk(TREES[path])
        if isinstance(n, ast.Module | ast.ClassDef | Function)
    ]
    texts = ["".join(t for title, t in sections(d).items() if title != "Examples") for d in docs]
    texts += re.findall(r"#: .*", path.read_text(encoding="utf-8"))
    found = {unit for text in texts for unit in ENDING_UNIT.findall(text)}
    assert found <= UNIT_SPELLINGS, f"{path.name}: write these as the list does, or not in brackets"


# ---- (c) sources

DOCSTRINGS = [
    (p, ast.get_docstring(n) or "")
    for p, tree in TREES.items()
    for n in ast.walk(tree)
    if isinstance(n, ast.Module | ast.ClassDef | Function)
]
#: read without `load_sources`, so that one bad file fails one test and not this whole file
SOURCE_FILES = [
    *PACKAGE.glob("base/sources.toml"),
    *sorted((PACKAGE / "base" / "sources.d").glob("*.toml")),
]
KEY = re.compile(r"\b[A-Z][A-Za-z]+(?:19|20)\d\d\b")  #: a source in a comment: names and the year
SOURCES = sorted(
    set(re.findall(r"(?m)^\[([^\]]+)\]", "\n".join(f.read_text("utf-8") for f in SOURCE_FILES)))
)


def test_the_sources_load() -> None:
    assert list(load_sources()) == SOURCES


@by_file
def test_every_reference_has_a_source(path: Path) -> None:
    cited = {key for p, doc in DOCSTRINGS if p == path for key in cited_in(doc)}
    for comment in re.findall(r"(?m)#:? .*$", path.read_text(encoding="utf-8")):
        cited |= set(KEY.findall(comment))  # beside a constant
    missing = cited - set(SOURCES)
    assert not missing, f"{path.name} cites keys that no sources file has: {sorted(missing)}"


@pytest.mark.parametrize("key", SOURCES)
def test_every_source_is_used(key: str) -> None:
    if any(key in cited_in(doc) for _, doc in DOCSTRINGS):
        return
    files = [*FILES, *(ROOT / "materials").rglob("*.toml"), *(ROOT / "tests").rglob("*.py")]
    word = re.compile(rf"(?<!\w){re.escape(key)}(?!\w)")
    assert any(word.search(f.read_text(encoding="utf-8")) for f in files), (
        f"nothing uses the source {key}"
    )


def test_cited_in_reads_keys_and_stops_at_the_next_section() -> None:
    doc = """Sum.

    Notes
    -----
    NotThis 1

    References
    ----------
    One2001 eq. 3
        and p. 4 of it
    Two2002, table 5

    Examples
    --------
    Three
    """
    assert cited_in(doc) == ["One2001", "Two2002"]
    assert cited_in("Sum.") == []
    assert cited_in(None) == []


def test_sources_are_read_from_both_places(tmp_path: Path) -> None:
    (tmp_path / "sources.d").mkdir()
    (tmp_path / "sources.toml").write_text('[B]\ntext = "b"\nread = "first-hand"\n')
    (tmp_path / "sources.d" / "one.toml").write_text('[A]\ntext = "a"\nread = "memory (low)"\n')
    (tmp_path / "sources.d" / "two.toml").write_text('[B]\ntext = "b"\nread = "first-hand"\n')
    expected = {
        "A": Source(text="a", read="memory (low)"),
        "B": Source(text="b", read="first-hand"),
    }
    assert load_sources(tmp_path) == expected
    assert list(load_sources(tmp_path)) == ["A", "B"]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (
            '[B]\ntext = "other"\nread = "first-hand"',
            r"\[B\]: another file gives this key differently",
        ),
        ('[C]\ntext = "c"', r"\[C\]: must have the two keys text and read, and no others"),
        (
            '[C]\ntext = "c"\nread = "first-hand"\nurl = "x"',
            r"\[C\]: must have the two keys text and read",
        ),
        ('[C]\ntext = " "\nread = "first-hand"', r"\[C\] text: must be the full reference"),
        (
            '[C]\ntext = "c"\nread = "memory"',
            r"\[C\] read: is 'memory'; it must be 'first-hand', 'via ",
        ),
        ("[C", "not a TOML file: "),
    ],
)
def test_bad_sources_are_refused(tmp_path: Path, content: str, message: str) -> None:
    (tmp_path / "sources.d").mkdir()
    (tmp_path / "sources.toml").write_text('[B]\ntext = "b"\nread = "first-hand"\n')
    (tmp_path / "sources.d" / "two.toml").write_text(content)
    with pytest.raises(InputError, match=rf"^two\.toml: {message}"):
        load_sources(tmp_path)


# ---- (d) to (f) what is imported, and when


@by_file
def test_no_print_and_no_logging(path: Path) -> None:
    if folder(path) == "cli":
        pytest.skip("the command line prints")
    modules = {module.split(".")[0] for module, _ in imported(TREES[path], path)}
    assert "logging" not in modules
    prints = [
        n.lineno
        for n in ast.walk(TREES[path])
        if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id == "print"
    ]
    assert not prints, f"{path.name}: print on lines {prints}"


def at_import(statements: list[ast.stmt]) -> Iterator[ast.stmt]:
    """Statements that run when the module is imported (not those that only a type checker sees)."""
    for node in statements:
        typing_only = isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)
        if isinstance(node, Function) or typing_only:
            continue
        yield node
        for field in ("body", "orelse", "finalbody"):
            yield from at_import(getattr(node, field, []))
        for handler in getattr(node, "handlers", []):
            yield from at_import(handler.body)


@by_file
def test_heavy_packages_are_imported_where_they_are_used(path: Path) -> None:
    if folder(path) == "report":
        pytest.skip("the report is made of them")
    statements = [
        n for n in at_import(TREES[path].body) if isinstance(n, ast.Import | ast.ImportFrom)
    ]
    names = {f"{m}.{n}".rstrip(".") for s in statements for m, n in imported(s, path)}
    heavy = {n for n in names for h in HEAVY if n == h or n.startswith(h + ".")}
    assert not heavy, (
        f"{path.name} imports {sorted(heavy)} at once; import inside the function that uses it"
    )


def loaded_by(arguments: list[str]) -> tuple[int, set[str], str]:
    """Run the command in a fresh interpreter: exit status, modules loaded, stderr."""
    code = (
        "import json, runpy, sys\n"
        f"sys.argv = {['loadsim', *arguments]!r}\n"
        "status = 0\n"
        "try:\n    runpy.run_module('loadsim', run_name='__main__')\n"
        "except SystemExit as end:\n    status = end.code or 0\n"
        "print('\\n' + json.dumps([status, sorted(sys.modules)]))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    status, modules = json.loads(run.stdout.splitlines()[-1])
    return status, set(modules), run.stderr


def test_help_starts_quickly() -> None:
    status, modules, stderr = loaded_by(["--help"])
    assert status == 0, stderr
    assert "loadsim.cli" in modules
    assert not modules & {"numpy", "pydantic", "scipy", "pandas", "plotly", "jinja2"}


JOB = """
[job]
number = "H-1"
[work]
material = "al-6061-t6"
lubrication = "brush"
[slot]
throat_width = "2.4 mm"
undercut_width = "4 mm"
undercut_height = "1 mm"
depth = "3 mm"
length = "30 mm"
sides = 2
open_ends = 1
[cutter]
material = "hss-m2"
head_diameter = "3.175 mm"
head_height = "1 mm"
neck_diameter = "1.6 mm"
neck_length = "3 mm"
shank_diameter = "3.175 mm"
stickout = "12 mm"
teeth = 2
rake = "0 deg"
[machine]
max_spindle_speed = "4200 rpm"
spindle_power = "250 W"
feed = "hand"
"""


def test_check_loads_no_heavy_package(tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(JOB)
    status, modules, stderr = loaded_by(["check", str(file)])
    assert status in (0, 1), stderr  # whatever the verdict, the file is good
    assert "numpy" in modules  # it did compute
    assert not modules & {"scipy.stats", "scipy.optimize", "pandas", "plotly", "jinja2"}


# ---- (g) what is never mentioned

OUTSIDE = (
    "/wo" + "rk/",
    "../sha" + "red",
)  # in two halves, so that this file does not mention them
SKIPPED = {"__pycache__", "build", "dist", "node_modules"}


def repository_files() -> list[Path]:
    return [
        p
        for p in sorted(ROOT.rglob("*"))
        if p.is_file()
        and not SKIPPED & set(p.relative_to(ROOT).parts)
        and not any(
            part.startswith(".") and part != ".ci" for part in p.relative_to(ROOT).parts[:-1]
        )
    ]


def test_nothing_outside_the_repository_is_mentioned() -> None:
    files = repository_files()
    assert PACKAGE / "base" / "units.py" in files
    for path in files:
        text = path.read_bytes().decode("utf-8", "replace")
        assert not [w for w in OUTSIDE if w in text], path.relative_to(ROOT)


# ---- (h) sizes


def body_lines(node: Function) -> int:
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def code_lines(path: Path) -> int:
    """Lines of a file that are neither blank nor docstring."""
    lines = path.read_text(encoding="utf-8").splitlines()
    skipped = {i for i, line in enumerate(lines, 1) if not line.strip()}
    for node in ast.walk(TREES[path]):
        has_body = isinstance(node, ast.Module | ast.ClassDef | Function)
        if has_body and ast.get_docstring(node) is not None:
            skipped |= set(range(node.body[0].lineno, (node.body[0].end_lineno or 0) + 1))
    return len(lines) - len(skipped)


@by_file
def test_functions_fit_on_a_screen_and_modules_in_a_sitting(path: Path) -> None:
    lines = code_lines(path)
    assert lines <= MAX_MODULE, f"split {name_of(path)}: {lines} lines of code"
    functions = [n for n in ast.walk(TREES[path]) if isinstance(n, Function)]
    too_long = [f"{n.name} ({body_lines(n)} lines)" for n in functions if body_lines(n) > MAX_BODY]
    assert not too_long, f"split, in {name_of(path)}: {', '.join(too_long)}"


# ---- (i) where the tests have their expected values from

TESTS = {
    p: ast.parse(p.read_text(encoding="utf-8")) for p in sorted((ROOT / "tests").rglob("*.py"))
}
READ = re.compile(r"first-hand|via \S.*|memory \((?:high|medium|low)\)")
#: what a mark on a test must hand over: how many texts, and which keywords
MARKS = {
    "published": (1, {"read"}),
    "closed_form": (1, set()),
    "independent": (1, set()),
    "regression": (0, set()),
}
OUTSIDE_MARKS = {"published", "closed_form", "independent"}
PHYSICS = ("mechanics", "materials", "loads")
LEAST_SHARE = 0.30


def name_of_mark(node: ast.AST) -> str:
    """Name after pytest.mark, or nothing."""
    match node:
        case ast.Attribute(
            value=ast.Attribute(value=ast.Name(id="pytest"), attr="mark"), attr=name
        ):
            return name
    return ""


def marks_of(node: Function) -> set[str]:
    calls = [d.func if isinstance(d, ast.Call) else d for d in node.decorator_list]
    return {name_of_mark(d) for d in calls} - {""}


def texts_of(call: ast.Call) -> tuple[list[str], dict[str, str]]:
    """The constant texts handed to a mark, by place and by keyword."""
    by_place = [a.value for a in call.args if isinstance(a, ast.Constant)]
    by_name = {k.arg: k.value.value for k in call.keywords if isinstance(k.value, ast.Constant)}
    return by_place, by_name


def strength_of(read: str) -> tuple[str, ...]:
    """How well a source was read, as something that sorts: memory (low) first, first-hand last."""
    ranks = ("memory (low)", "memory (medium)", "memory (high)", "via", "first-hand")
    return ranks[: 1 + next(i for i, rank in enumerate(ranks) if read.startswith(rank))]


def faults_of_marks(tree: ast.AST, sources: dict[str, str]) -> list[str]:
    """What is wrong with the marks of a file: texts missing, a spelling of `read`, more claimed than is known."""
    called = {id(n.func): n for n in ast.walk(tree) if isinstance(n, ast.Call)}
    faults = []
    for node in ast.walk(tree):
        mark = name_of_mark(node)
        if mark not in MARKS:
            continue
        by_place, by_name = texts_of(called[id(node)]) if id(node) in called else ([], {})
        count, names = MARKS[mark]
        if (
            len(by_place) != count
            or set(by_name) != names
            or not all([*by_place, *by_name.values()])
        ):
            faults.append(f"line {node.lineno}: {mark} takes {count} text and {sorted(names)}")
        elif mark == "published":
            faults += faults_of_reading(node.lineno, by_place[0], by_name["read"], sources)
    return faults


def faults_of_reading(line: int, where: str, read: str, sources: dict[str, str]) -> list[str]:
    if not READ.fullmatch(read):
        return [
            f"line {line}: read is {read!r}; allowed: first-hand, via ..., memory (high|medium|low)"
        ]
    keys = [k for k in sources if re.match(rf"{re.escape(k)}(?![\w-])", where)]
    return [
        f"line {line}: claims {read!r}, the sources say {sources[k]!r}"
        for k in keys
        if len(strength_of(read)) > len(strength_of(sources[k]))
    ]


def functions_of_tests(tree: ast.Module) -> list[Function]:
    return [n for n in tree.body if isinstance(n, Function) and n.name.startswith("test_")]


@pytest.mark.parametrize("path", TESTS, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_published_value_says_how_its_source_was_read(path: Path) -> None:
    sources = {key: source.read for key, source in load_sources().items()}
    assert not faults_of_marks(TESTS[path], sources)


@pytest.mark.parametrize("path", TESTS, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_comparison_with_our_own_output_says_so(path: Path) -> None:
    for node in functions_of_tests(TESTS[path]):
        if "regression" in marks_of(node):
            assert not OUTSIDE_MARKS & marks_of(node), node.name
            assert "own output" in (ast.get_docstring(node) or ""), node.name


@pytest.mark.parametrize(
    ("mark", "fault"),
    [
        ('published("Key2001 eq. 1", read="via a copy")', ""),
        ('published("Key2001", read="memory (low)")', ""),
        (
            'published("Other2002", read="first-hand")',
            "",
        ),  # not in the sources: nothing to hold it to
        ('published("Key2001 eq. 1")', "published takes 1 text and ['read']"),
        ('published("", read="first-hand")', "published takes 1 text"),
        ('published("Key2001", read="memory")', "read is 'memory'; allowed: first-hand, via ..."),
        ('published("Key2001, p. 1", read="first-hand")', "claims 'first-hand', the sources say"),
        ("closed_form", "closed_form takes 1 text"),
        ('independent("")', "independent takes 1 text"),
        ('regression("why")', "regression takes 0 text"),
    ],
)
def test_marks_are_checked(mark: str, fault: str) -> None:
    tree = ast.parse(f"@pytest.mark.{mark}\ndef test_a(): ...")
    faults = faults_of_marks(tree, {"Key2001": "via a copied table"})
    assert bool(faults) == bool(fault)
    assert fault in "".join(faults)


def test_enough_physics_is_held_against_the_outside() -> None:
    folders = [ROOT / "tests" / name for name in PHYSICS]
    functions = [n for p, t in TESTS.items() if p.parent in folders for n in functions_of_tests(t)]
    outside = [n for n in functions if OUTSIDE_MARKS & marks_of(n)]
    assert len(functions) > 300
    assert len(outside) / len(functions) >= LEAST_SHARE, f"{len(outside)} of {len(functions)}"


def test_the_tests_of_a_wrong_edit_are_there() -> None:
    mutants = tomllib.loads((ROOT / "tests" / "mutants.toml").read_text(encoding="utf-8"))["mutant"]
    named = {name for m in mutants for name in m["tests"] if name.startswith("tests/")}
    assert len(named) > 20
    for name in named:
        path, _, test = name.partition("::")
        assert (ROOT / path).is_file(), f"tests/mutants.toml names {path}, which is not there"
        functions = {n.name for n in functions_of_tests(TESTS[ROOT / path])}
        assert not test or test.partition("[")[0] in functions, f"no test {test} in {path}"


# ---- (i) what stands for whoever carries the work on


def test_the_developers_page_is_read_in_one_sitting() -> None:
    lines = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 130
    assert max(map(len, lines)) <= 160
