"""Reads a job file: TOML to Job, with all problems of the file in one list."""

from __future__ import annotations

import difflib
import math
import sys
import tomllib
import typing
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from loadsim import units
from loadsim.domain import LIMIT_UNIT, Cutter, Dimension, Job, Slot, Thing
from loadsim.errors import InputError, Problem

#: A job file is a page of text; anything far larger is not one. [bytes]
MAX_BYTES = 1_000_000


def read_job(path: str | Path) -> Job:
    """Read and validate a job file.

    Parameters
    ----------
    path : str or Path
        A TOML file; "-" reads standard input.

    Returns
    -------
    job : Job
        Every quantity in internal units.

    Raises
    ------
    InputError
        With every problem found, each as "[table] key: what is wrong, and what would be right".
    """
    return job_from_text(read_text(path), str(path))


def read_text(path: str | Path) -> str:
    """Return the text of a file, or of standard input for "-".

    Parameters
    ----------
    path : str or Path
        Which file.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If it cannot be read, is too large, or is not UTF-8.
    """
    name = str(path)
    try:
        if name == "-":
            data = sys.stdin.buffer.read(MAX_BYTES + 1)
        else:
            with Path(path).open("rb") as file:
                data = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise InputError(name, [Problem(where="", message=_cannot_read(error))]) from None
    if len(data) > MAX_BYTES:
        raise InputError(name, [Problem(where="", message="is over 1 MB; a job file is a page of text")])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        message = f"is not UTF-8 text (line {line}); save it as UTF-8"
        raise InputError(name, [Problem(where="", message=message)]) from None


def _cannot_read(error: Exception) -> str:
    if isinstance(error, FileNotFoundError):
        return "does not exist; give the path of a job file, or write one with: loadsim new FILE"
    if isinstance(error, IsADirectoryError):
        return "is a directory; give the path of a job file"
    if isinstance(error, PermissionError):
        return "cannot be read: permission denied; make it readable"
    return f"cannot be read: {getattr(error, 'strerror', None) or error}"


def job_from_text(text: str, name: str) -> Job:
    """Validate the text of a job file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What to call the file in messages.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        With every problem found.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        message = f"is not TOML: {error}; compare it with: loadsim new --example t-track"
        raise InputError(name, [Problem(where="", message=message)]) from None
    return job_from_dict(data, name)


def job_from_dict(data: dict[str, Any], name: str, *, inside: bool = False) -> Job:
    """Validate a job given as nested tables.

    Parameters
    ----------
    data : dict
        Tables and keys as in the job file.
    name : str
        What to call the file in messages.
    inside : bool
        Whether bare floats are accepted, in internal units.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        With every problem found.
    """
    try:
        job = Job.model_validate(data, context={"inside": inside})
    except ValidationError as error:
        problems = [_explain(e, Job) for e in error.errors(include_url=False)]
        # the keys that are right may still not fit together: say that too, in the same list
        raise InputError(name, _unique(problems + _partial(data, inside))) from None
    problems = relations(job)
    if problems:
        raise InputError(name, problems)
    return job


def changed(job: Job, changes: dict[str, Any]) -> Job:
    """Return a job with some values replaced, validated anew.

    Parameters
    ----------
    job : Job
        The job as it is.
    changes : dict
        "table.key" to the new value, quantities as floats in internal units; None removes a key.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        If the result is not a valid job.
    """
    data = job.model_dump(exclude_none=True)
    for path, value in changes.items():
        table, key = path.split(".")
        if value is None:
            data.get(table, {}).pop(key, None)
        else:
            data.setdefault(table, {})[key] = value
    return job_from_dict(data, "job", inside=True)


def _unique(problems: list[Problem]) -> list[Problem]:
    return list(dict.fromkeys(problems))


def _partial(data: dict[str, Any], inside: bool) -> list[Problem]:
    """Check the relations within the tables that are valid on their own, while others are not."""
    made: dict[str, Thing] = {}
    for table, kind in (("slot", Slot), ("cutter", Cutter)):
        try:
            made[table] = kind.model_validate(data.get(table), context={"inside": inside})
        except ValidationError:
            continue
    return (_cutter_relations(made["cutter"]) if "cutter" in made else []) + (
        _slot_relations(made["slot"]) if "slot" in made else [])  # type: ignore[arg-type]  # fmt: skip


# --- what has to fit together -----------------------------------------------------------------------------------------


def _mm(x: float) -> str:
    return f"{x:.6g} mm ({x / units.IN:.4g} in)"


def relations(job: Job) -> list[Problem]:
    """List what does not fit together in a job whose keys are right one by one.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    problems : list of Problem
    """
    return [*_slot_relations(job.slot), *_cutter_relations(job.cutter), *_fit(job), *_setting_relations(job),
            *_predrill_relations(job)]  # fmt: skip


def _slot_relations(slot: Slot) -> list[Problem]:
    found = []
    if slot.undercut_width <= slot.throat_width:
        found.append(Problem(where="[slot] undercut_width", message=f"is {_mm(slot.undercut_width)}; it must be over "
                             f"throat_width, {_mm(slot.throat_width)}, or there is nothing to undercut"))  # fmt: skip
    if slot.undercut_height >= slot.depth:
        found.append(Problem(where="[slot] undercut_height", message=f"is {_mm(slot.undercut_height)}; it must be under "
                             f"depth, {_mm(slot.depth)}, which reaches from the surface to the undercut's floor"))  # fmt: skip
    if slot.throat_depth is not None and not (slot.depth - slot.undercut_height) * (1 - 1e-9) <= slot.throat_depth <= slot.depth:
        low = slot.depth - slot.undercut_height
        found.append(Problem(where="[slot] throat_depth", message=f"is {_mm(slot.throat_depth)}; allowed is from the "
                             f"undercut's roof, {_mm(low)}, to depth, {_mm(slot.depth)}"))  # fmt: skip
    return found


def _cutter_relations(cutter: Cutter) -> list[Problem]:
    found = []
    radius = cutter.head_diameter / 2

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if (cutter.rake is None) == (cutter.face_offset is None):
        both = cutter.rake is not None
        wrong("rake", "is given together with face_offset; give one of the two" if both else
              'is missing; give rake = "8 deg", or face_offset = "0.2 mm" (how far past centre the flute face was ground)')  # fmt: skip
    if cutter.face_offset is not None and math.fabs(cutter.face_offset) >= radius * math.sin(math.radians(45)):
        wrong("face_offset", f"is {_mm(cutter.face_offset)}; it must stay under 0.7 of the head's radius, {_mm(radius)}")
    if cutter.neck_diameter > cutter.head_diameter:
        wrong("neck_diameter", f"is {_mm(cutter.neck_diameter)}; it must not be over head_diameter, {_mm(cutter.head_diameter)}")
    if cutter.neck_diameter > cutter.shank_diameter:
        wrong("neck_diameter", f"is {_mm(cutter.neck_diameter)}; it must not be over shank_diameter, {_mm(cutter.shank_diameter)}")
    if cutter.stickout < (cutter.neck_length + cutter.head_height) * (1 - 1e-9):
        wrong("stickout", f"is {_mm(cutter.stickout)}; it runs from the collet to the head's lower face, so it is at "
              f"least neck_length + head_height, {_mm(cutter.neck_length + cutter.head_height)}")  # fmt: skip
    if cutter.corner_radius is not None and cutter.corner_radius > min(cutter.head_height / 2, radius / 2):
        wrong("corner_radius", f"is {_mm(cutter.corner_radius)}; it must not be over half the head's height or a quarter "
              f"of its diameter, {_mm(min(cutter.head_height / 2, radius / 2))}")  # fmt: skip
    step = max(cutter.shank_diameter - cutter.neck_diameter, cutter.head_diameter - cutter.neck_diameter) / 2
    if cutter.neck_fillet is not None and step > 0 and cutter.neck_fillet > max(2 * step, cutter.neck_diameter):
        wrong("neck_fillet", f"is {_mm(cutter.neck_fillet)}; that is larger than the step it sits in, {_mm(step)}")
    return found


def _fit(job: Job) -> list[Problem]:
    slot, cutter, found = job.slot, job.cutter, []

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if cutter.head_diameter > slot.undercut_width * (1 + 1e-9):
        wrong("head_diameter", f"is {_mm(cutter.head_diameter)}; it must not be over undercut_width, {_mm(slot.undercut_width)}")
    if cutter.head_height > slot.undercut_height * (1 + 1e-9):
        wrong("head_height", f"is {_mm(cutter.head_height)}; it must not be over undercut_height, {_mm(slot.undercut_height)}")
    if cutter.neck_diameter >= slot.throat_width:
        wrong("neck_diameter", f"is {_mm(cutter.neck_diameter)}; the neck must pass through throat_width, {_mm(slot.throat_width)}")
    return found


def _setting_relations(job: Job) -> list[Problem]:
    cut, machine, work, found = job.cut, job.machine, job.work, []
    low, high = machine.min_spindle_speed, machine.max_spindle_speed
    rpm = 30 / math.pi
    if low is not None and low > high:
        found.append(Problem(where="[machine] min_spindle_speed", message=f"is {low * rpm:.5g} rpm; it must not be over "
                             f"max_spindle_speed, {high * rpm:.5g} rpm"))  # fmt: skip
    if cut.feed_per_tooth is not None and cut.feed_rate is not None:
        found.append(Problem(where="[cut] feed_rate", message="is given together with feed_per_tooth; give one of the two"))
    if cut.spindle_speed is not None and not (low or 0.0) <= cut.spindle_speed <= high * (1 + 1e-9):
        found.append(Problem(where="[cut] spindle_speed", message=f"is {cut.spindle_speed * rpm:.5g} rpm; the machine runs "
                             f"{(low or 0) * rpm:.5g} to {high * rpm:.5g} rpm"))  # fmt: skip
    if (work.kc11 is None) != (work.mc is None):
        found.append(Problem(where="[work] mc" if work.mc is None else "[work] kc11",
                             message="is missing; kc11 and mc belong together: give both or neither"))  # fmt: skip
    if work.rake_reference is not None and work.kc11 is None:
        found.append(Problem(where="[work] rake_reference", message="is given without kc11 and mc, which it belongs to"))
    return found


def _predrill_relations(job: Job) -> list[Problem]:
    holes, slot, found = job.predrill, job.slot, []
    if holes is None:
        return found
    r = holes.diameter / 2
    half = slot.throat_width / 2
    low, high = (-slot.undercut_width / 2, slot.undercut_width / 2) if slot.sides == 2 else (-half, slot.undercut_width - half)
    if not (r <= holes.height <= slot.undercut_height - r):
        found.append(Problem(where="[predrill] height", message=f"is {_mm(holes.height)}; a hole of {_mm(holes.diameter)} stays "
                             f"inside the undercut only with its axis from {_mm(r)} to {_mm(slot.undercut_height - r)}"))  # fmt: skip
    for y in holes.offsets:
        if not (low + r <= y <= high - r):
            found.append(Problem(where="[predrill] offsets", message=f"hold {_mm(y)}; a hole of {_mm(holes.diameter)} stays inside "
                                 f"the undercut only from {_mm(low + r)} to {_mm(high - r)} off the centre line"))  # fmt: skip
    for a, b in zip(sorted(holes.offsets), sorted(holes.offsets)[1:], strict=False):
        if b - a < holes.diameter:
            found.append(Problem(where="[predrill] offsets", message=f"{_mm(a)} and {_mm(b)} are closer than the diameter; "
                                 "holes must not run into each other"))  # fmt: skip
    if slot.open_ends == 0:
        found.append(Problem(where="[predrill]", message="needs an open end to drill from; [slot] open_ends is 0"))
    return found


# --- one pydantic error to one plain line -----------------------------------------------------------------------------


def _explain(error: Any, model: type[Thing]) -> Problem:
    path = [p for p in error["loc"] if isinstance(p, str) and p in _names(model) or isinstance(p, int | str)]
    table, keys = str(path[0]) if path else "", [str(p) for p in path[1:] if isinstance(p, str)]
    where = f"[{_echo(table)}]" + (f" {_echo('.'.join(keys))}" if keys else "")
    return Problem(where=where, message=_message(error, model, path))


def _echo(text: str) -> str:
    text = text if text.isprintable() else text.encode("unicode_escape").decode("ascii")
    return text if len(text) <= 60 else text[:57] + "..."


def _names(model: type[Thing]) -> list[str]:
    return list(model.model_fields)


def _model_at(model: type[Thing], path: list[Any]) -> type[Thing] | None:
    for key in path:
        if isinstance(key, int):
            continue
        field = model.model_fields.get(key)
        inner = None if field is None else next((a for a in _parts(field.annotation) if _is_thing(a)), None)
        if inner is None:
            return None
        model = inner
    return model


def _parts(annotation: Any) -> list[Any]:
    parts = [annotation]
    for a in typing.get_args(annotation):
        parts += _parts(a)
    return parts


def _is_thing(a: Any) -> bool:
    return isinstance(a, type) and issubclass(a, Thing)


def _near(key: str, names: list[str]) -> str:
    near = difflib.get_close_matches(key[:100], names, 1)
    return f"; did you mean {near[0]}?" if near else f"; known are {', '.join(names)}"


def _message(error: Any, model: type[Thing], path: list[Any]) -> str:
    kind, given, ctx = error["type"], error["input"], error.get("ctx", {})
    if kind == "extra_forbidden":
        parent = _model_at(model, path[:-1]) or model
        what = "table" if len(path) == 1 else "key"
        return f"is not a known {what}{_near(str(path[-1]), _names(parent))}"
    if kind == "missing":
        return _missing(model, path)
    if kind == "value_error":
        return str(error["msg"]).removeprefix("Value error, ")
    if kind in ("greater_than_equal", "less_than_equal"):
        return _out_of_range(model, path, given)
    if kind == "literal_error":
        allowed = ctx["expected"].replace("'", "").replace(" or ", ", ").split(", ")
        near = difflib.get_close_matches(str(given)[:60], allowed, 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        return f"is {_given(given)}; allowed is one of {', '.join(allowed)}{hint}"
    if kind in ("string_too_long", "string_too_short"):
        n = len(given)
        return f"is {n} characters long; allowed is {'at most ' + str(ctx.get('max_length')) if n else 'at least 1'}"
    return _wrong_type(kind, given, error)


def _wrong_type(kind: str, given: object, error: Any) -> str:
    wanted = {
        "string_type": "write it as a text in quotes", "int_type": "write a whole number without quotes",
        "int_from_float": "write a whole number", "float_type": "write a number without quotes",
        "bool_type": "write true or false", "list_type": 'write a list, e.g. ["-2 mm", "2 mm"]',
        "model_type": "write a table of keys under its [heading]", "finite_number": "write an ordinary number",
        "too_short": "give at least one", "too_long": f"give at most {error.get('ctx', {}).get('max_length')}",
    }.get(kind, str(error["msg"]))  # fmt: skip
    return f"is {_given(given)}; {wanted}"


def _given(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, bool):
        return str(value).lower()
    return _echo(value if isinstance(value, str) else repr(value)) if not isinstance(value, list) else "a list"


def _missing(model: type[Thing], path: list[Any]) -> str:
    field = None
    parent = _model_at(model, path[:-1])
    if parent is not None:
        field = parent.model_fields.get(str(path[-1]))
    if field is None or len(path) == 1:
        return "is missing; the job file needs this table"
    dimension = next((m.name for m in field.metadata if isinstance(m, Dimension)), None)
    like = f', e.g. {path[-1]} = "{units.example(dimension)}"' if dimension else ""
    return f"is missing ({(field.description or '').rstrip('.')}){like}"


def _constraints(model: type[Thing], path: list[Any]) -> tuple[str | None, float | None, float | None]:
    """Return the dimension and the bounds of a field."""
    parent = _model_at(model, [p for p in path if isinstance(p, str)][:-1])
    keys = [p for p in path if isinstance(p, str)]
    field = parent.model_fields.get(keys[-1]) if parent is not None else None
    found: list[Any] = [] if field is None else [*field.metadata]
    if field is not None:
        for part in _parts(field.annotation):
            found += list(getattr(part, "__metadata__", ()))
    spread = [x for m in found for x in ([m, *getattr(m, "metadata", [])])]
    dimension = next((m.name for m in spread if isinstance(m, Dimension)), None)
    low = next((m.ge for m in spread if getattr(m, "ge", None) is not None), None)
    high = next((m.le for m in spread if getattr(m, "le", None) is not None), None)
    return dimension, low, high


def _out_of_range(model: type[Thing], path: list[Any], given: object) -> str:
    dimension, low, high = _constraints(model, path)
    if low is None or high is None:
        return f"is {_given(given)}; allowed is {f'at least {low:g}' if low is not None else f'at most {high:g}'}"
    if dimension is None:
        return f"is {_given(given)}; allowed is {low:g} to {high:g}"
    unit = LIMIT_UNIT[dimension]
    lo, hi = (units.to_unit(float(x), unit, dimension) for x in (low, high))
    if isinstance(given, float):  # already converted: show it in the unit of the limits
        given = f"{units.to_unit(given, unit, dimension):.6g} {unit}"
    return f"is {_given(given)}; allowed is {lo:.6g} to {hi:.6g} {unit}"
