"""The build says what the audit of packages found, and what it could not find out."""

import importlib.util
import json
from pathlib import Path

import pytest

pytestmark = pytest.mark.any_database

FILE = Path(__file__).parent.parent / ".ci" / "judge_audit.py"
WEAK = {"id": "PYSEC-0000-1", "fix_versions": ["1.1"], "aliases": [], "description": ""}


def judged(*packages):
    spec = importlib.util.spec_from_file_location("judge_audit", FILE)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    code, said = module.judged(json.dumps({"dependencies": packages, "fixes": []}))
    return code, "\n".join(said)


def package(name, *vulns):
    return {"name": name, "version": "1.0", "vulns": list(vulns)}


def skipped(name):
    return {"name": name, "skip_reason": "not found"}


def test_a_known_weakness_fails_the_build_with_the_version_that_mends_it():
    code, said = judged(package("one", WEAK), package("two"))
    assert code == 1
    assert "one 1.0: PYSEC-0000-1, mended in 1.1" in said


def test_packages_without_a_known_weakness_pass():
    assert judged(package("one"), package("two")) == (
        0,
        "Asked for the advisories of 2 packages: 0 known weaknesses.",
    )


@pytest.mark.parametrize("packages", [[], [skipped("one"), skipped("two")]])
def test_no_answer_is_never_called_clean(packages):
    code, said = judged(*packages)
    assert code == 0
    assert said.startswith("NOT AUDITED")


def test_what_could_not_be_asked_for_is_named():
    code, said = judged(package("one"), skipped("two"))
    assert code == 0
    assert "NOT AUDITED: two" in said
