"""The page that measures neck and fillet in a photo, which stays in the browser."""

from __future__ import annotations

from loadsim.base import units
from loadsim.page.desk import Desk
from loadsim.page.guard import Guard
from loadsim.page.templates import filled

#: Points that are set in a photo, in the order of `photo.js`.
POINTS = (
    "1 shank, left edge",
    "2 shank, left edge, further along",
    "3 shank, right edge",
    "4 neck, left edge",
    "5 neck, right edge",
    "6 fillet, one end",
    "7 fillet, middle",
    "8 fillet, other end",
)


def photo(desk: Desk, guard: Guard) -> str:
    """Return the page that measures in a photo.

    Parameters
    ----------
    desk : Desk
        The job at work.
    guard : Guard
        For the tokens of the forms.

    Returns
    -------
    html : str
    """
    now = desk.now()
    unit = "in" if now.standing.system == "inch" else "mm"
    shank = ""
    if now.job is not None and "cutter.shank_diameter" in now.standing.so_far.values:
        shank = f"{units.to_unit(now.job.cutter.shank_diameter, unit, 'length'):.6g}"
    shown = {
        "name": desk.path.name,
        "unit": unit,
        "shank": shank,
        "points": POINTS,
        "token": guard.token("answer"),
    }
    return filled("photo.html", **shown)
