"""What an answer stands on: the materials with their values, and the sources behind it."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Plan
from loadsim.base.sources import load_sources
from loadsim.job.material_paths import first_name
from loadsim.job.tables import Job
from loadsim.materials.describe import describe
from loadsim.materials.folder import is_path
from loadsim.report.rows.materials import value_row
from loadsim.report.sheet.equations import Equation


def material_cautions(job: Job) -> tuple[str, ...]:
    """Cautions of the metal, as one line; none when there are none."""
    cautions = describe(job.work.material)["cautions"]
    sentences = [text if text.endswith(".") else text + "." for text in cautions]
    return (" ".join(sentences),) if sentences else ()


def materials(job: Job) -> tuple[dict[str, Any], ...]:
    """Describe the metal to be cut and the blank, for the template.

    Parameters
    ----------
    job : Job
        Names both.

    Returns
    -------
    materials : tuple of dict
        "name", "title", "condition", "own" (whether the shop's own file), "rows" and "heat".
    """
    return tuple(_material(name) for name in (job.work.material, job.cutter.material))


def _material(name: str) -> dict[str, Any]:
    data = describe(name)
    return {
        "name": first_name(data["name"]),
        "title": data["title"],
        "condition": data["condition"],
        "own": is_path(name),
        "rows": tuple(value_row(value) for value in data["values"]),
        "heat": tuple(data.get("heat", ())),
    }


def sources(plan: Plan, equations: tuple[Equation, ...]) -> tuple[tuple[str, str, str], ...]:
    """List only what stands behind this answer.

    Parameters
    ----------
    plan : Plan
        The answer.
    equations : tuple of Equation
        Those that it used.

    Returns
    -------
    sources : tuple of (key, reference, how it was read)
    """
    known = load_sources()
    keys = {key for equation in equations for key in equation.keys} | set(plan.result.sources)
    own_file = ("the shop's own material file", "shop")
    return tuple(
        (key, *((known[key].text, known[key].read) if key in known else own_file))
        for key in sorted(keys)
    )
