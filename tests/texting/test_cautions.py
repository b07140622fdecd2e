"""Whether the crew's words keep up with what the engine finds."""

import ast
from pathlib import Path

from scheduling import engine
from scheduling.texting.cautions import CAUTIONS

ENGINE = Path(engine.__file__).parent


def engine_strings():
    """Every string the engine's modules hold, by value."""
    trees = (ast.parse(path.read_text(encoding="utf-8")) for path in ENGINE.glob("*.py"))
    return {
        node.value
        for tree in trees
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def stop_codes():
    """Codes of findings that are written down as stops."""
    for path in ENGINE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Finding":
                severity, code, *_ = node.args
                if "STOP" in ast.unparse(severity):
                    yield ast.literal_eval(code)


def test_every_finding_that_stops_a_pour_has_words():
    codes = set(stop_codes())
    assert "load_too_old" in codes
    assert codes <= CAUTIONS.keys()


def test_every_worded_caution_is_one_the_engine_knows():
    assert CAUTIONS.keys() <= engine_strings()
