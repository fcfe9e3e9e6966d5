"""Every rule stands in the catalogue, once, and on the page made from it."""

import importlib
import pkgutil
from collections import Counter
from pathlib import Path
from string import Formatter

import pytest

import tracker.judge
from tracker.judge import catalogue
from tracker.judge.rules import Rule

PAGE = Path(__file__).parents[2] / "docs/findings.md"


def rules_in_modules() -> dict[str, Rule]:
    found = {}
    for module in pkgutil.walk_packages(tracker.judge.__path__, "tracker.judge."):
        for name, value in vars(importlib.import_module(module.name)).items():
            if isinstance(value, Rule):
                found[f"{module.name}.{name}"] = value
    return found


def test_every_rule_of_the_judge_is_in_the_catalogue() -> None:
    found = rules_in_modules()
    assert len(found) > 50
    assert [where for where, rule in found.items() if rule not in catalogue.RULES] == []


def test_ids_are_unique() -> None:
    ids = Counter(rule.id for rule in catalogue.RULES)
    assert [rule_id for rule_id, count in ids.items() if count > 1] == []


def test_families_hold_all_rules_each_once() -> None:
    listed = [rule for _, rules in catalogue.families() for rule in rules]
    assert sorted(rule.id for rule in listed) == sorted(rule.id for rule in catalogue.RULES)
    names = [family for family, _ in catalogue.families()]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("rule", catalogue.RULES, ids=lambda rule: rule.id)
def test_sentence_is_a_sentence(rule: Rule) -> None:
    for text in (rule.sentence, rule.means):
        assert text[0] in '{"' or text[0].isupper()
        assert text[-1] in ".?}"  # a sentence that quotes another one ends with it
    assert "  " not in rule.sentence
    assert all(name for _, name, _, _ in Formatter().parse(rule.sentence) if name is not None)


def test_page_is_what_the_rules_say_now() -> None:
    assert PAGE.read_text(encoding="utf-8") == catalogue.as_markdown(), "run `make docs`"


def test_page_lists_every_rule_with_its_severity() -> None:
    page = catalogue.as_markdown()
    for rule in catalogue.RULES:
        assert f"| `{rule.id}` | {rule.severity.value} |" in page
