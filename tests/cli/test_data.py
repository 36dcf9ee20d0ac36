"""``fallwork data``: files for programs, questions for course systems.

No registry has the published schema of QTI. So the questions are answered by an interpreter of the
rules that they use; names and order of elements are from memory of the standard.
"""

import csv
import io
import json
import operator
import re
from zipfile import ZipFile

import jsonschema
import pytest
from lxml import etree

from democourse import bytes_below, copy_of_the_course, exchange
from fallwork.lesson.rounding import rounded

ORDER = "response outcome itemBody responseProcessing modalFeedback"
PULL = 0.3184 * 0.050 * 9.80665 / (0.3184 + 0.050)  # N, of bench-1, by hand
DOES = {"gte": operator.ge, "lte": operator.le, "float": float, "multiple": operator.concat}
DOES |= {"identifier": lambda word: [word], "and": lambda *e: all(e), "or": lambda *e: any(e)}


def value(node, state):
    if node.tag == "variable":
        return state[node.get("identifier")]
    parts = [value(each, state) for each in node] or [node.text]
    return DOES[node.get("baseType", node.tag)](*parts)


def follow(rules, state) -> None:
    for rule in rules:
        if rule.tag == "setOutcomeValue":
            state[rule.get("identifier")] = value(rule[0], state)
        for branch in rule if rule.tag == "responseCondition" else ():
            otherwise = branch.tag == "responseElse"
            if otherwise or value(branch[0], state):
                follow(branch[0 if otherwise else 1 :], state)
                break


def check_question(text, right, wrongs) -> None:
    """Right numbers score, each mistake's is told, with the link to its step, and nothing else."""
    item = etree.fromstring(re.sub(b' xmlns="[^"]*"', b"", text))
    parts = [each.tag.removesuffix("Declaration") for each in item]
    assert parts == sorted(parts, key=ORDER.index)
    words = {e.get("identifier"): e.xpath("string(.//@href)") for e in item.iter("modalFeedback")}
    low, high = right["accepted_from"], right["accepted_to"]
    links = {each["mistake"]: each["address"] for each in wrongs} | {"ROUNDED": ""}
    assert words == {id_: links.get(id_, right["address"]) for id_ in words}
    assert len(words) == parts.count("modalFeedback")
    many = {e.get("identifier"): e.get("cardinality") == "multiple" for e in item[1:3]}

    def told(number):
        state = {"RESPONSE": number} | {id_: [] if many[id_] else 0.0 for id_ in many}
        follow(item.find("responseProcessing"), state)
        assert state["SCORE"] == (low <= number <= high)
        return {*state["FEEDBACK"]}

    for number in (right["value"], float(right["rounded"]), (8 * low + high) / 9):
        assert told(number) == {"RIGHT"}
    assert told(-right["value"])
    assert told(1e5 * (1 + abs(high))) == set()
    for id_, wrong in ((each["mistake"], each["value"]) for each in wrongs):
        for figures in (2, 3, 4) if id_ in words else ():
            found = told(float(rounded(wrong, figures).decimal))
            assert found & {id_, "RIGHT", *(["ROUNDED", "SEVERAL"] if figures == 2 else [])}
    of_measuring = {"A13", "A15", "A16", "T13", "T20", "U30", "U31"}
    assert words.keys() >= {e["mistake"] for e in wrongs if not e["accepted"]} - of_measuring


@pytest.mark.parametrize("lab", ["level-track-frictionless", "push-away", "train"])
def test_a_lab_is_handed_over_as_the_schema_says(lab, tmp_path, run, monkeypatch):
    monkeypatch.chdir(folder := copy_of_the_course(tmp_path / "demo", labs=(lab,)))
    exchange(folder / "site-data/course.yaml", "title:", "url: https://lab.example.org/\ntitle:")
    for to in ("out", "../again"):
        assert run("data", lab, "--term", "2026-autumn", "--to", to)[::2] == (0, "")
    files = bytes_below(folder / "out")
    assert files == bytes_below(folder.parent / "again")
    found, schema = (json.loads(files[f"data{end}.json"]) for end in ("", ".schema"))
    jsonschema.Draft202012Validator(schema).validate(found)
    for name, of in (("results", "sets"), ("mistakes", "sets"), ("step-questions", "steps")):
        rows = [*csv.reader(files[f"{name}.csv"].decode("utf-8-sig").splitlines())]
        assert len(rows) == 1 + sum(len(each[name.split("-")[-1]]) for each in found[of]) > 10
    package = ZipFile(io.BytesIO(files["questions.zip"]))
    there = {
        e.get("href") for e in etree.fromstring(package.read("imsmanifest.xml")).iter("{*}file")
    }
    assert {*package.namelist()} - there == {"imsmanifest.xml"}
    for numbers, right in ((e, right) for e in found["sets"] for right in e["results"]):
        name = f"{numbers['set']}/{re.sub('[^A-Za-z0-9]+', '-', right['quantity'])}.xml"
        wrongs = [e for e in numbers["mistakes"] if e["quantity"] == right["quantity"]]
        if name in there:
            check_question(package.read(name), right, wrongs)
        assert name != "bench-1/tension-string.xml" or right["value"] == pytest.approx(PULL)
