"""Who may lean on whom: reads every import of the product and fails on a forbidden one."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
OURS = ("scheduling", "api", "pourplan", "tests")

WORDS = {"scheduling.roles", "scheduling.errors", "scheduling.quantities"}
BELOW_SERVICES = WORDS | {
    "scheduling.engine",
    "scheduling.weather",
    "scheduling.texting",
    "scheduling.sentences",
    "scheduling.localtime",
    "scheduling.models",
    "scheduling.bridge",
    "scheduling.queries",
}
DOOR = WORDS | {
    "scheduling.services",
    "scheduling.queries",
    "scheduling.models",
    "scheduling.sentences",
    "scheduling.localtime",
}

# Each room and the rooms of ours it may import, beside itself.
ROOMS: dict[str, set[str]] = {
    "scheduling.engine": set(),
    "scheduling.roles": set(),
    "scheduling.errors": set(),
    "scheduling.quantities": set(),
    "scheduling.localtime": {"scheduling.errors"},
    "scheduling.sentences": {"scheduling.quantities"},
    "scheduling.weather": {"scheduling.engine"},
    "scheduling.texting": {"scheduling.quantities", "scheduling.sentences"},
    "scheduling.models": {"scheduling.engine", "scheduling.roles"},
    "scheduling.bridge": {"scheduling.engine", "scheduling.models"},
    "scheduling.queries": {
        "scheduling.models",
        "scheduling.bridge",
        "scheduling.engine",
        "scheduling.roles",
        "scheduling.sentences",
    },
    "scheduling.services": BELOW_SERVICES,
    "scheduling.tasks": {"scheduling.services"},
    "scheduling.pages": DOOR,
    "api": DOOR,
    "pourplan": set(),
    # Django finds these by name.
    "scheduling.apps": {"scheduling.checks"},
    "scheduling.checks": {"scheduling.texting", "scheduling.weather"},
    "scheduling.admin": {
        "scheduling.models",
        "scheduling.roles",
        "scheduling.errors",
        "scheduling.services",
    },
    "scheduling.migrations": {"scheduling.models", "scheduling.engine", "scheduling.roles"},
    # Commands load whole companies and forecasts, so they may reach for everything but the other doors.
    "scheduling.management": BELOW_SERVICES | {"scheduling.services"},
}

FRAMEWORKS = {"django", "rest_framework", "celery", "knox", "drf_spectacular", "django_filters"}
# What a room may not import from outside the project.
CLOSED_TO: dict[str, set[str]] = {
    "scheduling.engine": FRAMEWORKS,
    "scheduling.roles": FRAMEWORKS,
    "scheduling.errors": FRAMEWORKS,
    "scheduling.quantities": FRAMEWORKS,
}
ONLY_IN = {"ortools": "scheduling.engine.weekmodel"}
# Rooms that are told the time instead of asking for it.
CLOCKLESS = ("scheduling.engine", "scheduling.bridge", "scheduling.queries", "scheduling.services")
CLOCKS = {"now", "utcnow", "today", "localdate", "localtime"}


def room_of(module: str) -> str | None:
    """The row of the table that a module of ours falls under; None when it has none."""
    rows = [room for room in ROOMS if module == room or module.startswith(f"{room}.")]
    return max(rows, key=len, default=None)


def imports_in(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """The line and full name of every import; `from a import b` counts as `a.b`."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, name.name) for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{node.module}.{name.name}") for name in node.names)


def fault_of(module: str, imported: str) -> str | None:
    """Why this module may not import that one."""
    room, top = room_of(module), imported.split(".")[0]
    if top in ONLY_IN and module != ONLY_IN[top]:
        return f"{top} is for {ONLY_IN[top]} alone"
    if top not in OURS:
        return f"{room} knows nothing of {top}" if top in CLOSED_TO.get(room or "", ()) else None
    target = room_of(imported)
    if target is None:
        return f"{imported} has no row in the table of rooms"
    if target != room and target not in ROOMS.get(room or "", ()):
        return f"{room} may not import {target}"
    return None


def shape_faults(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Imports that are relative, or that hide below the top of the file."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.level:
            yield node.lineno, "relative import"
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            inner = [n for n in ast.walk(node) if isinstance(n, ast.Import | ast.ImportFrom)]
            yield from ((n.lineno, f"import inside {node.name}") for n in inner)


def reads_clock(node: ast.AST) -> bool:
    """Whether this is a call such as `timezone.now()`; `localdate(moment)` only converts what it is given."""
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
        return False
    converts = node.func.attr in {"localdate", "localtime"} and node.args
    return node.func.attr in CLOCKS and not converts


def clock_faults(module: str, tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Calls that read the clock, in a room that is told the time."""
    room = room_of(module)
    if room in CLOCKLESS:
        yield from ((node.lineno, f"{room} reads the clock") for node in ast.walk(tree) if reads_clock(node))


def faults_in(module: str, source: str) -> list[str]:
    """Everything wrong with a module's imports, a sentence each."""
    tree = ast.parse(source)
    if room_of(module) is None and module not in {"scheduling"}:
        return [f"{module} has no row in the table of rooms"]
    found = [*shape_faults(tree), *clock_faults(module, tree)]
    found += [(line, fault) for line, name in imports_in(tree) if (fault := fault_of(module, name))]
    return [f"{module}:{line}: {fault}" for line, fault in sorted(set(found))]


def modules() -> dict[str, Path]:
    """Every module of the product by its full name."""
    paths = [p for top in ("scheduling", "api", "pourplan") for p in sorted((ROOT / top).rglob("*.py"))]
    names = [".".join(p.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for p in paths]
    return dict(zip(names, paths, strict=True))


def test_every_import_is_one_its_room_may_make():
    found = [fault for name, path in modules().items() for fault in faults_in(name, path.read_text())]
    assert not found, "\n".join(found)


def test_every_module_of_the_product_is_read():
    read = set(modules())
    assert {"scheduling.engine.inputs", "scheduling.models.pours", "pourplan.settings", "api"} <= read


@pytest.mark.parametrize(
    ("module", "source", "fault"),
    [
        (
            "scheduling.engine.volume",
            "from scheduling.models import Pour",
            "may not import scheduling.models",
        ),
        ("scheduling.engine.volume", "from scheduling import models", "may not import scheduling.models"),
        ("scheduling.engine.volume", "import django.utils.timezone", "knows nothing of django"),
        ("scheduling.engine.volume", "from pourplan.env import text", "may not import pourplan"),
        (
            "scheduling.engine.dayplan",
            "from ortools.sat.python import cp_model",
            "for scheduling.engine.weekmodel",
        ),
        ("scheduling.engine.volume", "at = datetime.now(UTC)", "reads the clock"),
        ("scheduling.services.booking", "at = timezone.now()", "reads the clock"),
        ("scheduling.roles", "from django.db import models", "knows nothing of django"),
        ("scheduling.sentences", "from scheduling.engine.inputs import Finding", "may not import"),
        ("scheduling.models.pours", "from scheduling.services import booking", "may not import"),
        ("scheduling.models.pours", "from scheduling.weather import sample", "may not import"),
        ("scheduling.weather.sample", "from scheduling.models import Site", "may not import"),
        ("scheduling.bridge", "from scheduling.services import booking", "may not import"),
        ("scheduling.queries.week", "from scheduling.services import booking", "may not import"),
        ("scheduling.services.booking", "from scheduling import tasks", "may not import scheduling.tasks"),
        ("scheduling.services.booking", "from api.fields import QuantityField", "may not import api"),
        ("scheduling.tasks", "from scheduling.models import Message", "may not import scheduling.models"),
        ("scheduling.pages.week", "from scheduling.engine import dayplan", "may not import"),
        ("scheduling.pages.week", "from api.fields import QuantityField", "may not import api"),
        ("api.views.pours", "from scheduling.bridge import request_for", "may not import"),
        ("api.views.pours", "from scheduling.pages import forms", "may not import scheduling.pages"),
        ("api.views.pours", "from scheduling.texting import gateways", "may not import"),
        ("pourplan.urls", "from scheduling.pages import urls", "may not import scheduling.pages"),
        ("api.urls", "from tests import factories", "has no row"),
        ("api.urls", "from scheduling.helpers import sort", "has no row"),
        ("scheduling.helpers", "", "has no row"),
        ("api.urls", "from .views import pours", "relative import"),
        ("api.urls", "def show():\n    import json", "import inside show"),
        ("api.urls", "class Show:\n    def get(self):\n        from json import loads", "import inside Show"),
        (
            "scheduling.pages.week",
            "if TYPE_CHECKING:\n    from scheduling.engine.inputs import Finding",
            "may not import scheduling.engine",
        ),
    ],
)
def test_a_forbidden_import_is_found(module, source, fault):
    assert any(fault in found for found in faults_in(module, source))


@pytest.mark.parametrize(
    ("module", "source"),
    [
        (
            "scheduling.engine.weekmodel",
            "from ortools.sat.python import cp_model\nfrom scheduling.engine import inputs",
        ),
        (
            "scheduling.services.booking",
            "from scheduling import bridge\nfrom scheduling.engine import dayplan",
        ),
        ("scheduling.pages.week", "from scheduling import sentences\nfrom django.utils import timezone"),
        ("scheduling.pages.week", "at = timezone.now()"),
        ("scheduling.tasks", "from scheduling.services import outbox\nat = timezone.now()"),
        ("api.views.pours", "if TYPE_CHECKING:\n    from scheduling.models import Pour"),
        ("pourplan.urls", "from pourplan.env import text\nfrom django.urls import path"),
    ],
)
def test_an_allowed_import_is_let_through(module, source):
    assert faults_in(module, source) == []


def test_the_engine_loads_without_a_framework():
    engine = [name for name in modules() if name.startswith("scheduling.engine")]
    script = (
        "import importlib, sys\n"
        f"for name in {engine!r}:\n    importlib.import_module(name)\n"
        f"print(sorted({{m.split('.')[0] for m in sys.modules}} & {FRAMEWORKS | {'pourplan'}!r}))"
    )
    run = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
