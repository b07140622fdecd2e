"""Every finding of the engine has a sentence, and what is said of real plans can be read out to a crew."""

import ast
import json
import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from scheduling.quantities import UnitSystem
from scheduling.sentences import SENTENCES, say
from scheduling.sentences.told import Told
from tests.planned import METRIC, PLANNED, US, ZONE

ENGINE = Path(__file__).resolve().parent.parent / "scheduling" / "engine"


def looped_over(name: str, tree: ast.Module) -> set[str]:
    """Strings that a loop variable of that name takes from a table of the module, by its place in the row."""
    tables = {n.targets[0].id: n.value for n in tree.body if isinstance(n, ast.Assign)}
    found: set[str] = set()
    for loop in (n for n in ast.walk(tree) if isinstance(n, ast.For) and isinstance(n.target, ast.Tuple)):
        names = [part.id for part in loop.target.elts]
        if name in names:
            rows = tables[loop.iter.id].elts
            found |= {row.elts[names.index(name)].value for row in rows}
    return found


def codes_in(source: str) -> Iterator[str]:
    """The second argument of every `Finding(...)`."""
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Finding":
            code = node.args[1]
            found = {code.value} if isinstance(code, ast.Constant) else looped_over(code.id, tree)
            assert found, f"cannot tell the code in line {node.lineno}"
            yield from found


EMITTED = {code for path in ENGINE.glob("*.py") for code in codes_in(path.read_text())}


def test_the_codes_are_found_in_the_engine_also_where_a_loop_gives_them():
    assert {"hold_last_load", "frost", "cold_weather", "finishing_short"} <= EMITTED
    assert set(codes_in('T = (("a", 1), ("b", 2))\nfor code, n in T:\n    Finding(S, code, {})')) == {
        "a",
        "b",
    }


def test_every_code_of_the_engine_has_its_own_sentence():
    assert EMITTED - set(SENTENCES) == set()


def test_no_sentence_stands_for_a_code_that_nobody_gives():
    assert set(SENTENCES) - EMITTED == set()


# --- plans that provoke findings --------------------------------------------------------------


BROKEN = re.compile(
    r"[{}]|\bNone\b|\b(True|False|nan|inf)\b|_|\d{4}-\d\d-\d\d|\d\.\d{3}|  | [.,;:]|\.\.|[a-z](m3|m2|kg)\b"
)


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("findings", PLANNED.values(), ids=PLANNED)
def test_every_finding_reads_as_plain_sentences(findings, system):
    for finding in findings:
        said = say(finding.code, finding.facts, system, ZONE)
        assert not BROKEN.search(said), said
        assert len(said) < 300, said
        assert said[0].isupper() or said[0].isdigit(), said
        assert said[-1] == ".", said


@pytest.mark.parametrize("findings", PLANNED.values(), ids=PLANNED)
def test_no_finding_lacks_a_fact_that_its_sentence_wants(findings):
    for finding in findings:
        sentence, told = SENTENCES[finding.code], Told(finding.facts, US, ZONE)
        own = sentence.format_map(told) if isinstance(sentence, str) else sentence(told)
        assert say(finding.code, finding.facts, US, ZONE) == own


def test_the_findings_above_are_of_every_code_there_is():
    assert EMITTED - {finding.code for findings in PLANNED.values() for finding in findings} == set()


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("findings", PLANNED.values(), ids=PLANNED)
def test_facts_kept_as_json_word_the_same(findings, system):
    for finding in findings:
        kept = json.loads(json.dumps(dict(finding.facts), default=datetime.isoformat))
        assert say(finding.code, kept, system, ZONE) == say(finding.code, finding.facts, system, ZONE)


@pytest.mark.parametrize("findings", PLANNED.values(), ids=PLANNED)
def test_no_unit_of_the_other_system_is_said(findings):
    for finding in findings:
        us, metric = (say(finding.code, finding.facts, system, ZONE) for system in (US, METRIC))
        assert not re.search(r"\d (m|m2|m3|mm|kg|°C)\b|m3/h", us), us
        assert not re.search(r"\d (ft|in|yd3|lb|°F)\b|yd3/h|\d'|\d [ap]m\b", metric), metric
