"""New job files: the examples, the answers to the questions, and the JSON Schema, held against the
reader: both refuse the same.
"""

from __future__ import annotations

import copy
import json
import re
import tomllib
import typing
from typing import Any

import pytest

from loadsim.base.errors import InputError
from loadsim.job.read import job_from_dict, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import completed, example, examples, recorded, schema

SCHEMA = schema()


def faults(value: Any, node: dict[str, Any], path: str = "") -> list[str]:
    """Check a value by the part of JSON Schema (draft 2020-12) that the schema uses; an unknown word fails."""
    known = {
        "$ref",
        "type",
        "pattern",
        "properties",
        "required",
        "additionalProperties",
        "enum",
        "const",
        "minimum",
        "maximum",
        "minLength",
        "maxLength",
        "minItems",
        "maxItems",
        "items",
        "anyOf",
        "$defs",
        "$schema",
        "title",
        "description",
        "examples",
        "default",
        "exclusiveMinimum",
    }
    assert set(node) <= known, f"{path}: this test does not know {set(node) - known}"
    if "$ref" in node:
        name = node["$ref"].removeprefix("#/$defs/")
        return faults(value, SCHEMA["$defs"][name], path)
    if "anyOf" in node:
        tried = [faults(value, x, path) for x in node["anyOf"]]
        return [] if [] in tried else [f"{path}: none of anyOf"]
    kinds: dict[str, Any] = {
        "object": dict,
        "array": list,
        "string": str,
        "boolean": bool,
        "integer": int,
        "number": (int, float),
    }
    kind = node.get("type")
    if kind and (
        not isinstance(value, kinds[kind])
        or (kind in ("integer", "number") and isinstance(value, bool))
    ):
        return [f"{path}: is no {kind}"]
    found = []
    if "enum" in node and value not in node["enum"]:
        found.append(f"{path}: not in enum")
    if "pattern" in node and not re.search(node["pattern"], value):
        found.append(f"{path}: pattern")
    if ("minimum" in node and value < node["minimum"]) or (
        "maximum" in node and value > node["maximum"]
    ):
        found.append(f"{path}: out of range")
    if isinstance(value, str) and not node.get("minLength", 0) <= len(value) <= node.get(
        "maxLength", 10**9
    ):
        found.append(f"{path}: length")
    if isinstance(value, list):
        if not node.get("minItems", 0) <= len(value) <= node.get("maxItems", 10**9):
            found.append(f"{path}: items")
        found += [
            x for i, v in enumerate(value) for x in faults(v, node.get("items", {}), f"{path}[{i}]")
        ]
    if isinstance(value, dict):
        found += [f"{path}.{k}: required" for k in node.get("required", []) if k not in value]
        for k, v in value.items():
            if k in node.get("properties", {}):
                found += faults(v, node["properties"][k], f"{path}.{k}")
            elif node.get("additionalProperties", True) is False:
                found.append(f"{path}.{k}: not known")
    return found


@pytest.mark.parametrize("name", examples())
def test_every_example_is_a_job_and_fits_the_schema(name: str) -> None:
    text = example(name)
    job_from_text(text, name)
    assert faults(tomllib.loads(text), SCHEMA) == []


def test_the_schema_is_json_and_names_its_dialect() -> None:
    assert json.loads(json.dumps(SCHEMA, allow_nan=False)) == SCHEMA
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "null" not in re.findall(r'"type": "(\w+)"', json.dumps(SCHEMA))  # TOML has no null


GOOD: dict[str, dict[str, Any]] = tomllib.loads(example("t-track"))


@pytest.mark.parametrize(("table", "key", "bad"), [
    ("cutter", "neck_diameter", 5.2), ("cutter", "neck_diameter", "5.2"), ("cutter", "neck_diameter", "5.2 deg"), ("slot", "depth", ""),
    ("cutter", "neck_diameter", "nan mm"), ("cutter", "neck_diameter", "5,2 mm"), ("slot", "depth", True), ("cutter", "rake", "8"),
    ("machine", "max_spindle_speed", "2800"), ("machine", "spindle_power", 750), ("cut", "feed_per_tooth", "0.01 mm/rev"),
    ("cutter", "teeth", 2.5), ("cutter", "teeth", 0), ("slot", "sides", 3), ("machine", "feed", "foot"), ("cutter", "nek", "5 mm"),
    ("target", "snap_probability", 0.9), ("job", "number", ""), ("job", "units", "imperial"), ("job", "slots_per_part", 0),
    ("machine", "holder", "magnet"), ("machine", "wheel_force", "9"), ("cutter", "head_fillet", 0.2),
])  # fmt: skip
def test_schema_and_reader_refuse_the_same(table: str, key: str, bad: Any) -> None:
    data = copy.deepcopy(GOOD)
    data[table][key] = bad
    assert len(faults(data, SCHEMA)) == 1
    with pytest.raises(InputError) as caught:
        job_from_dict(data, "f")
    assert any(f"[{table}] {key}: " in x for x in caught.value.lines())


@pytest.mark.parametrize(("table", "key", "good"), [
    ("cutter", "neck_diameter", "3/16 in"), ("cutter", "neck_diameter", "0.2in"), ("cutter", "neck_diameter", "5.2MM"),
    ("cutter", "rake", "-5 °"), ("machine", "spindle_power", "1 1/2 hp"), ("cut", "feed_per_tooth", "0.5 thou"),
    ("job", "slots_per_part", 4), ("machine", "holder", "side-lock"), ("machine", "wheel_force", "2 lbf"), ("cutter", "head_fillet", "0.2 mm"),
])  # fmt: skip
def test_schema_and_reader_accept_the_same(table: str, key: str, good: Any) -> None:
    data = copy.deepcopy(GOOD)
    data[table][key] = good
    assert faults(data, SCHEMA) == []
    job_from_dict(data, "f")


@pytest.mark.parametrize("table", ["slot", "cutter", "machine", "work", "job"])
def test_schema_asks_for_every_table(table: str) -> None:
    assert faults({k: v for k, v in GOOD.items() if k != table}, SCHEMA) == [f".{table}: required"]


def test_the_commented_file_names_every_key_of_a_job() -> None:
    """A key that is not shown in the file is a key that nobody finds."""
    for table, field in Job.model_fields.items():
        if table in ("trial",):
            continue
        model = next(
            x
            for x in (*typing.get_args(field.annotation), field.annotation)
            if hasattr(x, "model_fields")
        )
        section = example("t-track").split(f"[{table}]")[1].split("\n[")[0]
        shown = set(re.findall(r"^(?:# )?(\w+) = ", section, re.MULTILINE)) | set(
            re.findall(r"or (face_offset|feed_rate)\b", section)
        )
        missing = set(model.model_fields) - shown
        assert {k for k in missing if k not in section} == set(), table


def test_no_example_repeats_a_part_of_another() -> None:
    assert len({example(n) for n in examples()}) == len(examples()) >= 3


def test_an_unknown_example_is_refused_with_the_list() -> None:
    with pytest.raises(InputError) as caught:
        example("t-trak")
    assert all(n in str(caught.value) for n in examples())


@pytest.mark.parametrize("name", examples())
def test_the_commented_test_cut_is_one(name: str) -> None:
    start, found = example(name).split("# [[trial]]")
    text = start + "\n".join(x.removeprefix("# ") for x in ("# [[trial]]" + found).splitlines())
    (trial,) = job_from_text(text, name).trial
    assert trial.outcome == "survived"
    assert faults(tomllib.loads(text), SCHEMA) == []


def test_the_keys_of_a_batch_are_written_back_as_given() -> None:
    """A file completed from tables reads as those tables."""
    data = copy.deepcopy(GOOD)
    data["job"]["slots_per_part"] = 4
    data["cutter"]["head_fillet"] = "0.25 mm"
    data["machine"] |= {"wheel_force": "9 N", "holder": "side-lock"}
    text = completed(data)
    assert tomllib.loads(text) == data
    assert job_from_text(text, "f") == job_from_dict(data, "f")


def test_recorded_slots_are_a_number() -> None:
    entries = ("length=118 mm", "outcome=survived")
    text = recorded(example("t-track"), "f", (*entries, "slots=12"))
    assert text.rstrip().splitlines().count("slots = 12") == 1
    assert job_from_text(text, "f").trial[0].slots == 12
    for bad in ("0", "-1", "2.5", "twelve", "٣", "9" * 5000):
        with pytest.raises(InputError) as caught:
            recorded(example("t-track"), "f", (*entries, f"slots={bad}"))
        assert any("[[trial]] 1 slots: " in x for x in caught.value.lines()), bad


def test_the_comment_of_a_fillet_is_of_the_end_it_is_at() -> None:
    data = tomllib.loads(example("t-track"))
    data["cutter"] |= {"neck_fillet": "0.5 mm"}
    both = 'neck_fillet = "0.5 mm"  # radius at the neck\'s ends'
    assert both in completed(data).splitlines()
    data["cutter"] |= {"head_fillet": "0.2 mm"}
    lines = completed(data).splitlines()
    assert both not in lines
    assert 'neck_fillet = "0.5 mm"  # radius where the neck meets the shank' in lines
