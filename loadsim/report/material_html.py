"""A material to one HTML file: no network, everything escaped, equal input gives equal bytes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from loadsim.base.errors import InputError, Problem
from loadsim.base.files import may_write, write_whole
from loadsim.base.units import System
from loadsim.base.version import __version__
from loadsim.materials import describe, load
from loadsim.report.figures.force_figures import metal_charts
from loadsim.report.parts import environment, page_parts
from loadsim.report.rows.forces import force_notes, force_table, forces_title, where_text
from loadsim.report.rows.materials import metal_title, value_row


def write_page(name: str | None, file: str, system: System, force: bool) -> None:
    """Write a material's page, whole or not at all.

    Parameters
    ----------
    name : str or None
        A name, or the path of a shop's own file.
    file : str
        Where the page goes.
    system : {"metric", "inch"}
        Units of the forces.
    force : bool
        Write over a file that is there.

    Raises
    ------
    InputError
        If no material is named, none goes by that name, or the file cannot be written.
    """
    if name is None:
        message = "belongs to one material: give NAME"
        raise InputError("--html", [Problem(where="", message=message)])
    may_write(Path(file), force)
    write_whole(Path(file), page_text(name, system), new=not force)


def page_text(name: str, system: System) -> str:
    """Return the page of a material as text: a metal's charts and tables, a blank's tables.

    Parameters
    ----------
    name : str
        A name, or the path of a shop's own file.
    system : {"metric", "inch"}
        Units of the forces.

    Returns
    -------
    html : str

    Raises
    ------
    InputError
        If it is neither a work nor a blank material, or its file is bad.
    """
    data = describe.describe(name)
    return (
        environment()
        .get_template("material.html")
        .render(
            material={"heat": (), **data},
            heading=metal_title(data),
            version=__version__,
            values=[value_row(value) for value in data["values"]],
            sources=[
                (key, source["text"], source["read"]) for key, source in data["sources"].items()
            ],
            slider=None,
            tables_stay=True,
            **_force_parts(data, system),
        )
    )


def _force_parts(data: dict[str, Any], system: System) -> dict[str, Any]:
    """What a metal's page has and a blank's has not."""
    truth = describe.truth_of(data["name"], system)
    if truth is None:
        return page_parts(())
    charts = metal_charts(load.load_work(data["name"]), system)
    return {
        "forces": force_table(truth),
        "force_title": forces_title(truth),
        "where": [where_text(source, system) for source in truth.sources],
        "notes": force_notes(data["radial_borrowed"]),
        **page_parts(charts),
    }
