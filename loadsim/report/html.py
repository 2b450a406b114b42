"""Page data to one HTML file: no network, everything escaped, equal input gives equal bytes."""

from __future__ import annotations

import os
import re
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from loadsim.answers.results import Plan, Settings
from loadsim.base.errors import InputError, Problem
from loadsim.base.files import special, write_whole
from loadsim.base.units import System
from loadsim.job.tables import Job
from loadsim.report.embed import payload
from loadsim.report.embed.payload import MOST_BYTES, escaped
from loadsim.report.parts import environment, page_parts
from loadsim.report.sheet.content import page

if TYPE_CHECKING:
    from collections.abc import Callable

    from loadsim.report.figures.style import Chart

#: Boxes tried for a drawing, width and height: the last is for what fits nowhere else. [mm]
BOXES = ((88.0, 62.0), (88.0, 70.0), (88.0, 90.0), (180.0, 120.0))
SLOT_BOXES = ((88.0, 48.0), *BOXES)
CUTTER_BOXES = ((88.0, 56.0), *BOXES)

#: Widest drawing that leaves room beside it. [mm]
NARROW = 88.0

#: 9999-12-31 23:59:59, the last that a date can be. [s]
LAST_SECOND = 253_402_300_799

#: Names that some systems keep for devices, whatever follows after a dot.
RESERVED = re.compile("(?i:con|prn|aux|nul|com[0-9]|lpt[0-9])")


def write_report(
    plan: Plan,
    path: str | Path,
    *,
    written: str | None = None,
    force: bool = False,
    full: bool = False,
) -> Path:
    """Write the report of a plan: one self-contained HTML file, whole or not at all.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    path : str or Path
        Where to. A report of the same job is written over; anything else only with ``force``.
    written : str, optional
        When, as the report shall show it; the clock when left out. Equal input gives equal bytes.
    force : bool
        Write over whatever is there.
    full : bool
        Print the appendix too.

    Returns
    -------
    path : Path

    Raises
    ------
    InputError
        If the file is there and is not a report of this job, or cannot be written.
    """
    path = Path(path)
    may_write(path, plan.job, force)
    text = page_text(plan, written, full=full)
    # drawing takes its time, and another may have written meanwhile
    there = may_write(path, plan.job, force)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refusal(str(path), f"cannot be written: {error.strerror}") from None
    write_whole(path, text, new=not there and not force)
    return path


def where(job: Job, output: str | None) -> Path:
    """Return where a report goes: as asked, or by the job's number.

    Parameters
    ----------
    job : Job
        The job.
    output : str or None
        As asked for.

    Returns
    -------
    path : Path

    Raises
    ------
    InputError
        If nothing of the job's number can be in a file's name.
    """
    if output is not None:
        return Path(output)
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", job.job.number).strip("-.")
    if not name:
        message = f"gives no file name ({job.job.number!r}); say where the report goes with -o FILE"
        raise InputError("job", [Problem(where="[job] number", message=message)])
    if RESERVED.fullmatch(name.partition(".")[0]):
        name = f"job-{name}"
    return Path("reports") / f"{name[:100]}.html"


def may_write(path: Path, job: Job, force: bool) -> bool:
    """Refuse to write over what is not a report of this job.

    Parameters
    ----------
    path : Path
        Where the report shall go.
    job : Job
        Whose report.
    force : bool
        Allow every ordinary file.

    Returns
    -------
    there : bool
        Whether something is written over.

    Raises
    ------
    InputError
        If something else is there.
    """
    try:
        what = special(path)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise _refusal(str(path), f"cannot be written: {reason}") from None
    if what is not None:
        raise _refusal(
            str(path), f"{what}; give another name with -o FILE, or -o - for standard output"
        )
    there = os.path.lexists(path)
    if there and not force:
        _refuse_other(path, job)
    return there


def _refuse_other(path: Path, job: Job) -> None:
    what = "is there already and is not a report that can be read back"
    with suppress(InputError, OSError):
        number = payload.read(path).job.job.number
        if number == job.job.number:
            return
        what = f"is there already and is the report of job {number!r:.60}"
    raise _refusal(
        str(path), f"{what}; give another name with -o FILE, or --force to write over it"
    )


def _refusal(file: str, message: str) -> InputError:
    """Make the error for a file as a whole."""
    return InputError(file, [Problem(where="", message=message)])


def page_text(
    plan: Plan, written: str | None = None, most_bytes: int = MOST_BYTES, *, full: bool = False
) -> str:
    """Return the report of a plan as text.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    written : str, optional
        When, as the report shall show it; the clock when left out.
    most_bytes : int
        Largest size of the page. [B]
    full : bool
        Print the appendix too.

    Returns
    -------
    html : str
    """
    from loadsim.report.figures.charts import charts_of

    carried = payload.gather(plan, plan.asked, _clock() if written is None else written)
    drawings = _drawings(plan.job, plan.result.settings)
    shown = page(plan, carried, sum(_size(drawing)[1] for drawing in drawings))
    charts = charts_of(plan)
    text = (
        environment()
        .get_template("template.html")
        .render(
            page=shown,
            version=carried.loadsim,
            payload=Markup(escaped(carried.tables())),
            full=full,
            drawings=drawings,
            wide=max(_size(drawing)[0] for drawing in drawings) > NARROW,
            other_drawings=_drawings(_in_other_unit(plan.job), plan.result.settings, "-other"),
            engagement=_engagement(plan),
            tables_stay=False,
            **page_parts(charts),
            **_slider(charts),
        )
    )
    _refuse_large(len(text.encode()), most_bytes)
    return text


def _refuse_large(size: int, most: int) -> None:
    if size > most:
        raise _refusal(
            "report",
            f"would come to {size / 1e6:.1f} MB; allowed are {most / 1e6:g} MB: shorten the"
            " material files of your own",
        )


def _clock() -> str:
    """Local time to the minute; SOURCE_DATE_EPOCH, in seconds, stands for it where builds must be
    repeatable.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if not epoch:
        return datetime.now().astimezone().strftime("%Y-%m-%d %H:%M")
    if not re.fullmatch("[0-9]{1,12}", epoch) or int(epoch) > LAST_SECOND:
        raise _refusal(
            "SOURCE_DATE_EPOCH",
            f"is {epoch!r:.40}; write whole seconds since 1970, or leave it out",
        )
    return datetime.fromtimestamp(int(epoch), UTC).strftime("%Y-%m-%d %H:%M")


def _drawings(job: Job, settings: Settings, mark: str = "") -> list[Markup]:
    """Drawings of page one; they escape every text themselves."""
    from loadsim.report.drawings import cutter_view, slot_view

    return [
        _fitted(
            lambda box: slot_view.slot_section(job, settings, box=box, id=f"slot-section{mark}"),
            SLOT_BOXES,
        ),
        _fitted(lambda box: cutter_view.cutter(job, box=box, id=f"cutter{mark}"), CUTTER_BOXES),
    ]


def _size(drawing: str) -> tuple[float, float]:
    """Return width and height of a drawing on paper. [mm]"""
    found = re.search(r'width="([0-9.]+)mm" height="([0-9.]+)mm"', drawing)
    if found is None:
        raise ValueError("a drawing has no size on paper")
    return float(found[1]), float(found[2])


def _in_other_unit(job: Job) -> Job:
    """Return the same job, led by the other system."""
    other: System = "inch" if job.job.units == "metric" else "metric"
    return job.model_copy(update={"job": job.job.model_copy(update={"units": other})})


def _fitted(
    draw: Callable[[tuple[float, float]], str], boxes: tuple[tuple[float, float], ...]
) -> Markup:
    """Draw in the smallest box that holds the drawing with its dimensions."""
    for box in boxes[:-1]:
        try:
            return Markup(draw(box))
        except ValueError:
            continue
    return Markup(draw(boxes[-1]))


def _engagement(plan: Plan) -> Markup:
    """Drawing of the first pass."""
    from loadsim.report.drawings import pass_view

    return _fitted(lambda box: pass_view.engagement(plan.job, plan.result.settings, box=box), BOXES)


def _slider(charts: tuple[Chart, ...]) -> dict[str, Any]:
    """What the slider over the neck's diameter sets; one neck alone needs none."""
    chart = next((chart for chart in charts if chart.slider is not None), None)
    if chart is None or chart.slider is None or len(chart.slider["values"]) < 2:
        return {"slider": None, "slider_data": ""}
    necks = chart.slider
    texts = [
        f"neck {diameter}: snap probability {chance}"
        for diameter, chance in zip(necks["labels"], necks["snap_text"], strict=True)
    ]
    texts[necks["own"]] += ", this job"
    slider = {"chart": chart.id, "label": "Neck diameter", "texts": texts, "start": necks["own"]}
    data = {**slider, "utilization": necks["utilization"], "labels": necks["text"]}
    return {"slider": slider, "slider_data": Markup(escaped(data))}
