"""The drawings, read back from the SVG: measured on paper over the scale they are what the job says."""

from __future__ import annotations

import itertools
import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest

from loadsim import read_job
from loadsim.answers.results import Settings
from loadsim.answers.states import hole_dict
from loadsim.job.read import changed
from loadsim.job.tables import Job
from loadsim.loads.end_holes import holes_for, layout
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.report.drawings import svg
from loadsim.report.drawings.cutter_view import cutter
from loadsim.report.drawings.marks import dimension_text
from loadsim.report.drawings.pass_view import engagement
from loadsim.report.drawings.slot_view import slot_section

REPORTS = Path(__file__).resolve().parents[2] / "reports"
SVG = "{http://www.w3.org/2000/svg}"
#: ISO 5455:1979, recommended scales: 1, 2 and 5 times powers of ten, enlarging and reducing (memory high)
ISO_5455 = re.compile(r"scale ((?:1|2|5)0*:1|1:(?:1|2|5)0*)\b")
#: coordinates are written to 0.001 mm
STEP = 0.001


def settings_of(job: Job) -> Settings:
    s = resolve(job)
    holes = holes_for(s)
    laid = passes(s, job.cut.stepover, job.cut.direction or "conventional", holes)
    plan = layout(s) if holes and job.predrill is None else None
    given = job.predrill.depth if job.predrill else None
    depth = plan.depth if plan else given or 0.0
    return Settings(
        spindle_speed_rpm=1.0,
        surface_speed_m_per_min=1.0,
        feed_per_tooth_mm=0.01,
        feed_rate_mm_per_min=1.0,
        stepover_mm=job.cut.stepover,
        handwheel_seconds_per_turn=None,
        cutting_time_s=1.0,
        predrill=hole_dict(s, holes, depth) if holes else None,
        passes=tuple(
            {
                "offset_mm": p.offset,
                "height_mm": p.level,
                "radial_width_mm": p.radial_width,
                "direction": p.direction,
            }
            for p in laid
        ),
    )


def jobs() -> dict[str, Job]:
    found = {
        name: read_job(REPORTS / f"{name}.toml") for name in ("t-track", "thin-neck", "one-sided")
    }
    side = changed(
        found["t-track"],
        {
            "slot.throat_width": 6.0,
            "slot.undercut_width": 9.6,
            "slot.undercut_height": 3.0,
            "slot.depth": 8.0,
            "slot.length": 16.0,
            "cutter.head_diameter": 8.4,
            "cutter.head_height": 3.0,
            "cutter.neck_diameter": 4.2,
            "cutter.neck_length": 5.2,
            "cutter.stickout": 14.0,
            "cutter.shank_diameter": 8.0,
            "slot.throat_depth": 6.0,
        },
    )
    found["side"] = side
    found["holes"] = changed(side, {"cut.predrill": True})
    found["levels"] = changed(
        side,
        {
            "cutter.head_height": 1.6,
            "cutter.neck_length": 6.8,
            "cutter.corner_radius": 0.3,
            "cut.stepover": 0.4,
            "slot.open_ends": 0,
        },
    )
    found["climb"] = changed(
        found["one-sided"],
        {
            "cut.direction": "climb",
            "cut.stepover": 1.0,
            "cutter.head_diameter": 9.0,
            "cutter.neck_diameter": 5.0,
            "cutter.corner_radius": 0.5,
        },
    )
    found["blunt"] = changed(
        found["t-track"], {"cutter.rake": -math.radians(5.0), "cutter.teeth": 4}
    )
    found["fillets"] = changed(side, {"cutter.head_fillet": 0.6})
    found["stub"] = changed(
        found["t-track"],
        {  # so short that the stick-out's lettering has no room along its line
            "slot.throat_width": 40.0,
            "slot.undercut_width": 60.0,
            "slot.undercut_height": 3.0,
            "slot.depth": 6.0,
            "cutter.head_diameter": 60.0,
            "cutter.head_height": 3.0,
            "cutter.neck_diameter": 30.0,
            "cutter.neck_length": 4.0,
            "cutter.shank_diameter": 32.0,
            "cutter.stickout": 8.0,
        },
    )
    return found


JOBS = jobs()
SETTINGS = {name: settings_of(job) for name, job in JOBS.items()}
DRAW = {
    "slot": lambda n, **k: slot_section(JOBS[n], SETTINGS[n], **k),
    "cutter": lambda n, **k: cutter(JOBS[n], **k),
    "pass": lambda n, **k: engagement(JOBS[n], SETTINGS[n], **k),
}
every = pytest.mark.parametrize(("kind", "name"), list(itertools.product(DRAW, JOBS)))


def tree(kind: str, name: str, **options: Any) -> ET.Element:
    return ET.fromstring(DRAW[kind](name, **options))


def points(element: ET.Element) -> list[tuple[float, float]]:
    numbers = [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", element.attrib["d"])]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def parts(root: ET.Element, part: str) -> list[ET.Element]:
    return [e for e in root.iter() if e.get("data-part") == part]


def part(root: ET.Element, name: str) -> ET.Element:
    (found,) = parts(root, name)
    return found


def scale(root: ET.Element) -> float:
    (found,) = (m for m in (ISO_5455.search(e.text or "") for e in root.iter(f"{SVG}text")) if m)
    a, b = found[1].split(":")
    return int(a) / int(b)


def area(ring: list[tuple[float, float]]) -> float:
    return (
        math.fabs(sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise([*ring, ring[0]])))
        / 2
    )


Rect = tuple[float, float, float, float]


def text_boxes(root: ET.Element) -> list[tuple[str, Rect]]:
    found = []
    for e in root.iter(f"{SVG}text"):
        x = float(e.attrib["x"])
        y = float(e.attrib["y"])
        words = e.text or ""
        if not words:
            continue
        w = svg.text_width(words)
        up = 0.74 * svg.TYPE
        down = 0.16 * svg.TYPE
        left = {"start": 0.0, "middle": -w / 2, "end": -w}[e.attrib["text-anchor"]]
        box = (
            (x + left, y - up, x + left + w, y + down)
            if "transform" not in e.attrib
            else (x - up, y - left - w, x + down, y - left)
        )
        found.append((words, box))
    return found


# ---- form


@every
def test_the_drawing_is_to_scale_and_fits_its_box(kind: str, name: str) -> None:
    root = tree(kind, name, box=(85.0, 70.0), id="d1")
    _, _, w, h = (float(x) for x in root.attrib["viewBox"].split())
    assert (root.attrib["width"], root.attrib["height"]) == (
        f"{svg.num(w)}mm",
        f"{svg.num(h)}mm",
    )  # one unit is one mm of paper
    assert w == 85.0
    assert h <= 70.0
    assert scale(root) > 0
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"] == "d1-title d1-desc"
    assert root.find(f"{SVG}title").attrib["id"] == "d1-title"  # type: ignore[union-attr]
    assert root.find(f"{SVG}desc").attrib["id"] == "d1-desc"  # type: ignore[union-attr]


@every
def test_equal_input_gives_equal_bytes(kind: str, name: str) -> None:
    once = DRAW[kind](name)
    assert once == DRAW[kind](name)
    assert not re.search(
        r"-0(?![.\d])|\d[eE]|nan|inf\b", " ".join(re.findall(r'(?:d|x|y|cx|cy|r)="([^"]*)"', once))
    )


@every
def test_black_and_white_only(kind: str, name: str) -> None:
    for e in tree(kind, name).iter():
        assert e.get("fill", "none") in ("none", "#000", "#fff")
        assert e.get("stroke", "none") in ("none", "#000", "#fff")
        assert not {"style", "class", "href", "onload"} & set(e.attrib)
        assert e.get("stroke-width", "0.25") in (
            "0.25",
            "0.5",
            "1.2",
        )  # ISO 128: thin is half of thick


@every
def test_lettering_is_clear_of_lettering_hatching_and_the_edge(kind: str, name: str) -> None:
    root = tree(kind, name)
    width, height = (float(x) for x in root.attrib["viewBox"].split()[2:])
    boxes = text_boxes(root)
    for words, (a, b, c, d) in boxes:
        assert a >= 0, words
        assert b >= 0, words
        assert c <= width, words
        assert d <= height, words
    for (one, p), (two, q) in itertools.combinations(boxes, 2):
        assert p[2] <= q[0] or q[2] <= p[0] or p[3] <= q[1] or q[3] <= p[1], f"{one!r} on {two!r}"
    hatching = [points(e) for e in root.iter() if "hatch" in (e.get("data-part") or "")]
    assert hatching
    for run in hatching:
        for start, end in zip(run[::2], run[1::2], strict=True):
            n = 12
            for k in range(n + 1):
                x, y = (start[i] + (end[i] - start[i]) * k / n for i in (0, 1))
                assert not [w for w, (a, b, c, d) in boxes if a < x < c and b < y < d]


def test_hostile_text_stays_text() -> None:
    bad = "</desc><script>alert('x')</script> & \"q\" ]]>"
    job = changed(
        JOBS["t-track"],
        {f"job.{k}": bad for k in ("number", "part", "drawing", "revision", "operation", "author")},
    )
    for text in (
        slot_section(job, settings_of(job), id=bad),
        cutter(job, id=bad),
        engagement(job, settings_of(job), id=bad),
    ):
        assert "<script" not in text
        root = ET.fromstring(text)
        assert root.attrib["id"] == bad
        assert len(root.findall(f"{SVG}desc")) == 1


def test_whatever_is_lettered_stays_lettering() -> None:
    sheet = svg.Paper(width=50.0, height=20.0)
    bad = "<script>&\"'</text>"
    svg.text(sheet, (1.0, 5.0), bad)
    svg.path(sheet, [(0.0, 0.0), (1.0, 1.0)], part=bad)
    svg.circle(sheet, (1.0, 1.0), 1.0, part=bad)
    root = ET.fromstring(svg.finish(sheet, bad, bad, bad))
    assert [e.text for tag in ("title", "desc") for e in root.iter(SVG + tag)] == [bad, bad]
    assert [e.text for e in root.iter(f"{SVG}text")] == [bad]
    assert len(parts(root, bad)) == 2


def test_a_box_that_is_too_small_is_refused() -> None:
    for kind in DRAW:
        with pytest.raises(ValueError, match="the box is too small"):
            DRAW[kind]("t-track", box=(30.0, 20.0))


def test_a_larger_box_allows_a_larger_scale() -> None:
    for kind in DRAW:
        assert scale(tree(kind, "t-track", box=(180.0, 120.0))) > scale(tree(kind, "t-track"))


def test_a_coordinate_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="is nan, not a number"):
        svg.num(math.nan)
    assert svg.num(-0.0001) == "0"


@pytest.mark.published("ISO 5455:1979, recommended scales", read="memory (high)")
@pytest.mark.parametrize(
    ("n", "d"),
    [
        (1, 1),
        (2, 1),
        (5, 1),
        (10, 1),
        (20, 1),
        (50, 1),
        (1, 2),
        (1, 5),
        (1, 10),
        (1, 20),
        (1, 50),
        (1, 100),
    ],
)
def test_the_scales_of_the_standard_are_all_there(n: int, d: int) -> None:
    assert dict(svg.SCALES)[f"{n}:{d}"] == n / d


@pytest.mark.published("ASME Y14.5, millimetre and decimal inch dimensioning", read="memory (high)")
@pytest.mark.parametrize(
    ("value", "system", "text"),
    [
        (0.25, "metric", "0.25"),  # a zero before the point
        (10.4, "metric", "10.4"),  # none at the end that says nothing
        (12.0, "metric", "12"),  # nor a point
        (100.0, "metric", "100"),
        (-0.2, "metric", "-0.2"),
        (0.0, "metric", "0"),
        (6.35, "inch", ".250"),  # no zero before the point, three decimals
        (-6.35, "inch", "-.250"),
        (6.2, "inch", ".2441"),  # a fourth where it says something
        (254.0, "inch", "10.000"),
        (25.4, "inch", "1.000"),
        (0.0, "inch", ".000"),
    ],
)
def test_a_dimension_is_lettered_as_the_shop_does(value: float, system: str, text: str) -> None:
    assert dimension_text(value, system) == text  # type: ignore[arg-type]


@every
def test_every_dimension_is_in_the_leading_unit_alone(kind: str, name: str) -> None:
    unit = {"metric": "mm", "inch": "inch"}[JOBS[name].job.units]
    lettered = [w for w, _ in text_boxes(tree(kind, name))]
    if kind != "pass":  # which has no length in its lettering
        assert re.search(rf"scale [0-9:]+, {unit},", lettered[-1])
    assert not [w for w in lettered[:-1] if re.search(r"\b(mm|in|inch)\b", w)]


# ---- the slot


@pytest.mark.parametrize("name", JOBS)
def test_the_slot_has_the_area_of_its_rectangles(name: str) -> None:
    slot = JOBS[name].slot
    r = JOBS[name].cutter.corner_radius or 0.0
    corners = 4 if slot.sides == 2 else 2
    exact = (
        slot.throat_width * (slot.depth - slot.undercut_height)
        + slot.undercut_width * slot.undercut_height
        - corners * (1 - math.pi / 4) * r**2
    )
    root = tree("slot", name)
    outline = points(part(root, "slot"))
    k = scale(root)
    edge = sum(math.dist(a, b) for a, b in itertools.pairwise([*outline, outline[0]]))
    chords = (
        corners * (math.pi / 4 - 8 * math.sin(math.pi / 32)) * r**2 if r else 0.0
    )  # an arc of 16 chords
    assert area(outline) / k**2 == pytest.approx(exact, abs=edge * STEP / k**2 + math.fabs(chords))


DIMENSIONS = {
    "slot": {"throat-width": "slot.throat_width", "undercut-width": "slot.undercut_width", "undercut-height": "slot.undercut_height", "depth": "slot.depth"},
    "cutter": {"head-diameter": "cutter.head_diameter", "neck-diameter": "cutter.neck_diameter", "shank-diameter": "cutter.shank_diameter",
               "head-height": "cutter.head_height", "neck-length": "cutter.neck_length", "stickout": "cutter.stickout"},
}  # fmt: skip


@pytest.mark.parametrize(("kind", "name"), list(itertools.product(DIMENSIONS, JOBS)))
def test_a_dimension_measures_what_it_says(kind: str, name: str) -> None:
    root = tree(kind, name)
    k = scale(root)
    lettered = " ".join(w for w, _ in text_boxes(root))
    for label, key in DIMENSIONS[kind].items():
        table, field = key.split(".")
        value = getattr(getattr(JOBS[name], table), field)
        assert dimension_text(value, JOBS[name].job.units) in lettered, key
        a, b = points(part(root, f"dim-{label}"))
        if label == "stickout" and parts(root, "break"):
            assert (
                math.dist(a, b) / k < value
            )  # some of the shank is left out, and the break says so
        else:
            assert math.dist(a, b) / k == pytest.approx(value, abs=2 * STEP / k), key


@pytest.mark.parametrize("name", JOBS)
def test_the_cutter_stands_in_the_slot_as_ground(name: str) -> None:
    job = JOBS[name]
    root = tree("slot", name)
    k = scale(root)
    first = SETTINGS[name].passes[0]
    silhouette = points(part(root, "cutter"))
    slot = points(part(root, "slot"))
    surface = slot[0][1]
    floor = max(y for _, y in slot)
    assert (floor - surface) / k == pytest.approx(job.slot.depth, abs=2 * STEP / k)
    middle = (slot[0][0] + slot[-1][0]) / 2  # of the throat
    head = [
        x
        for x, y in silhouette
        if y
        > floor
        - (first["height_mm"] + 0.5 * job.cutter.head_height + job.slot.undercut_height * 1e-9) * k
        - 0.01
    ]
    bottom = max(y for _, y in silhouette)
    assert (floor - bottom) / k == pytest.approx(first["height_mm"], abs=2 * STEP / k)
    assert (max(head) - min(head)) / k == pytest.approx(job.cutter.head_diameter, abs=2 * STEP / k)
    assert ((max(head) + min(head)) / 2 - middle) / k == pytest.approx(
        first["offset_mm"], abs=2 * STEP / k
    )
    top = silhouette[0]
    shank = silhouette[-1][0] - top[0]
    assert shank / k == pytest.approx(job.cutter.shank_diameter, abs=2 * STEP / k)
    shoulder = max(y for x, y in silhouette[1:] if y < surface and math.fabs(x - top[0]) < 2 * STEP)
    over = job.cutter.neck_length + job.cutter.head_height + first["height_mm"] - job.slot.depth
    assert (surface - shoulder) / k == pytest.approx(over, abs=2 * STEP / k)


def test_other_passes_are_dashed_where_they_run() -> None:
    root = tree("slot", "levels")
    k = scale(root)
    others = parts(root, "other-pass")
    assert len(others) == len(SETTINGS["levels"].passes) - 1 == 9  # five offsets at two heights
    slot = points(part(root, "slot"))
    middle = (slot[0][0] + slot[-1][0]) / 2
    floor = max(y for _, y in slot)
    for e, p in zip(others, SETTINGS["levels"].passes[1:], strict=True):
        x, y = zip(*points(e), strict=True)
        assert ((max(x) + min(x)) / 2 - middle) / k == pytest.approx(
            p["offset_mm"], abs=2 * STEP / k
        )
        assert (floor - max(y)) / k == pytest.approx(p["height_mm"], abs=2 * STEP / k)
        assert "stroke-dasharray" in e.attrib


def test_clearances_are_those_at_the_nearest_pass() -> None:
    # throat 6, neck 4.2, undercut 9.6, head 8.4: the axis goes 0.6 off centre, which leaves (6 - 4.2)/2 - 0.6 = 0.3
    root = tree("slot", "side")
    lettered = " ".join(w for w, _ in text_boxes(root))
    assert lettered.count("neck gap 0.3 ") == 2
    assert "shank gap 0.2 " in lettered  # 5.2 + 3 - 8
    assert "roof gap 0 " in lettered
    for side in ("low", "high"):
        a, b = points(part(root, f"dim-neck-gap-{side}-across"))
        assert math.dist(a, b) / scale(root) == pytest.approx(0.3, abs=0.002)
    # two heights: 3 - 1.6 is left over the head in the first
    assert "roof gap 1.4 " in " ".join(w for w, _ in text_boxes(tree("slot", "levels")))


def test_a_neck_that_fouls_the_throat_has_a_negative_gap() -> None:
    far = Settings(
        **{f: getattr(SETTINGS["side"], f) for f in Settings.__dataclass_fields__}
        | {"passes": (SETTINGS["side"].passes[0], {**SETTINGS["side"].passes[1], "offset_mm": 1.1})}
    )  # type: ignore[arg-type]
    lettered = " ".join(w for w, _ in text_boxes(ET.fromstring(slot_section(JOBS["side"], far))))
    assert "neck fouls -0.2 " in lettered  # (6 - 4.2)/2 - 1.1
    assert "neck gap 0.9 " in lettered
    short = changed(
        JOBS["side"], {"cutter.neck_length": 4.8}
    )  # 4.8 + 3 - 8 = -0.2, and the shank is wider than the throat
    assert "shank fouls -0.2 " in " ".join(
        w for w, _ in text_boxes(ET.fromstring(slot_section(short, settings_of(short))))
    )
    thin = changed(
        short, {"cutter.shank_diameter": 4.4, "slot.undercut_width": 8.4}
    )  # goes down into the throat with room to spare
    assert "shank gap -0.2 " in " ".join(
        w for w, _ in text_boxes(ET.fromstring(slot_section(thin, settings_of(thin))))
    )


def test_the_side_without_undercut_is_one_wall() -> None:
    outline = points(part(tree("slot", "one-sided"), "slot"))
    assert outline[0][0] == outline[1][0] == min(x for x, _ in outline)
    assert outline[1][1] == max(y for _, y in outline)  # straight to the floor
    assert max(x for x, _ in outline) > outline[-1][0]  # the undercut reaches beyond the other wall


def test_a_shallow_throat_shows_its_floor() -> None:
    root = tree("slot", "side")
    (a, b), k = points(part(root, "throat-floor")), scale(root)
    surface = points(part(root, "slot"))[0][1]
    assert (a[1] - surface) / k == pytest.approx(6.0, abs=2 * STEP)
    assert (b[0] - a[0]) / k == pytest.approx(6.0, abs=2 * STEP)
    assert "throat milled 6 " in " ".join(w for w, _ in text_boxes(root))
    assert not parts(tree("slot", "t-track"), "throat-floor")


def test_end_holes_lie_inside_the_outline() -> None:
    root = tree("slot", "holes")
    job = JOBS["holes"]
    told = SETTINGS["holes"].predrill
    k = scale(root)
    assert told is not None
    holes = parts(root, "hole")
    assert len(holes) == told["count"] == 2
    outline = points(part(root, "slot"))
    low = min(x for x, _ in outline)
    high = max(x for x, _ in outline)
    floor = max(y for _, y in outline)
    for e, offset in zip(holes, told["offsets_mm"], strict=True):
        x, y, r = (float(e.attrib[a]) for a in ("cx", "cy", "r"))
        assert r / k == pytest.approx(told["diameter_mm"] / 2, abs=STEP)
        assert low < x - r < x + r < high
        assert floor - job.slot.undercut_height * k < y - r < y + r < floor
        assert (x - (low + high) / 2) / k == pytest.approx(offset, abs=2 * STEP)
    assert len(parts(root, "centre-mark")) == 4
    assert f"2 × Ø{told['diameter_mm']:g} " in " ".join(w for w, _ in text_boxes(root))


def test_closed_ends_are_said() -> None:
    assert "both ends closed" in " ".join(w for w, _ in text_boxes(tree("slot", "levels")))
    assert "one end closed" in " ".join(w for w, _ in text_boxes(tree("slot", "thin-neck")))
    assert "closed" not in " ".join(w for w, _ in text_boxes(tree("slot", "t-track")))


# ---- the cutter


@pytest.mark.parametrize("name", JOBS)
def test_the_teeth_are_counted_and_raked(name: str) -> None:
    c = JOBS[name].cutter
    root = tree("cutter", name)
    k = scale(root)
    over = part(root, "over-teeth")
    centre = (float(over.attrib["cx"]), float(over.attrib["cy"]))
    R = c.head_diameter / 2
    assert float(over.attrib["r"]) / k == pytest.approx(R, abs=STEP / k)
    ring = points(part(root, "teeth"))
    tips = [i for i, p in enumerate(ring) if math.dist(p, centre) / k > R - 1.5 * STEP / k]
    assert len(tips) == c.teeth
    assert max(math.dist(p, centre) for p in ring) / k < R + 1.5 * STEP / k
    for i in tips:
        (x0, y0), (x1, y1) = ring[i - 1], ring[i]  # the face, from its root to the edge
        # signed distance of the centre from the face; on paper y is down, so this is positive when the centre lies ahead of a
        # face that moves clockwise: the face was ground past centre
        ahead = (
            ((x1 - x0) * (centre[1] - y0) - (y1 - y0) * (centre[0] - x0))
            / math.dist(ring[i - 1], ring[i])
            / k
        )
        e = c.face_offset if c.face_offset is not None else R * math.sin(c.rake or 0.0)
        lever = R * k / math.dist(ring[i - 1], ring[i])  # of the rounding at the face's ends
        assert ahead == pytest.approx(e, abs=2 * lever * STEP / k)
    neck = points(part(root, "neck"))
    assert all(
        math.dist(p, centre) / k == pytest.approx(c.neck_diameter / 2, abs=2 * STEP / k)
        for p in neck
    )


@pytest.mark.parametrize("name", JOBS)
def test_the_cutter_turns_clockwise_seen_from_the_spindle(name: str) -> None:
    for kind in ("cutter", "pass"):
        root = tree(kind, name)
        run = points(part(root, "rotation"))
        turned = sum(
            (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
            for a, b, c in zip(run, run[1:], run[2:], strict=False)
        )
        assert turned > 0  # clockwise, y being down
        assert "seen from the spindle" in " ".join(w for w, _ in text_boxes(root))


def test_what_the_cutter_is_ground_to_is_lettered() -> None:
    lettered = " ".join(w for w, _ in text_boxes(tree("cutter", "one-sided")))
    for words in (
        "R.020 ",
        "R.010 ",
        "Ø.500 ",
        "Ø.260 ",
        "Ø.375 ",
        ".800 ",
        "face .020 past centre",
        "3 teeth clockwise",
    ):
        assert words in lettered
    # a rake of -5 degrees on a radius of 5.2 mm: 5.2 sin 5 = 0.4532 mm short of centre
    assert "rake -5.0 deg face 0.453 short of centre" in " ".join(
        w for w, _ in text_boxes(tree("cutter", "blunt"))
    )


@pytest.mark.parametrize("name", ["side", "fillets"])
def test_the_side_view_has_the_area_of_its_parts(name: str) -> None:
    c = JOBS[name].cutter
    root = tree("cutter", name)
    k = scale(root)
    outline = points(part(root, "cutter"))
    radii = [c.neck_fillet or 0.0, c.head_fillet or c.neck_fillet or 0.0]
    shank = c.stickout - c.neck_length - c.head_height
    # each a square less a quarter circle, two at each end
    fillets = 2 * (1 - math.pi / 4) * sum(r**2 for r in radii)
    exact = (
        c.shank_diameter * shank
        + c.neck_diameter * c.neck_length
        + c.head_diameter * c.head_height
        + fillets
    )
    edge = sum(math.dist(a, b) for a, b in itertools.pairwise([*outline, outline[0]]))
    # an arc of 12 chords
    chords = 2 * (math.pi / 4 - 6 * math.sin(math.pi / 24)) * sum(r**2 for r in radii)
    assert area(outline) / k**2 == pytest.approx(exact, abs=edge * STEP / k**2 + math.fabs(chords))
    assert fillets > 5 * (
        edge * STEP / k**2 + math.fabs(chords)
    )  # or the fillets would not be seen


def test_an_assumed_fillet_says_so() -> None:
    assert "R0.1 assumed" in " ".join(w for w, _ in text_boxes(tree("cutter", "thin-neck")))
    assert "assumed" not in " ".join(w for w, _ in text_boxes(tree("cutter", "t-track")))


def test_another_fillet_at_the_head_says_so() -> None:
    lettered = " ".join(w for w, _ in text_boxes(tree("cutter", "fillets")))
    assert "R0.4 at the head R0.6 " in lettered
    assert "at the head" not in " ".join(w for w, _ in text_boxes(tree("cutter", "t-track")))


def test_a_long_shank_is_broken() -> None:
    assert len(parts(tree("cutter", "thin-neck"), "break")) == 2
    assert not parts(tree("cutter", "side"), "break")


# ---- a pass


def in_cut(root: ET.Element) -> list[tuple[float, float]]:
    head = part(root, "head")
    x = float(head.attrib["cx"])
    y = float(head.attrib["cy"])
    return [
        tuple(
            math.degrees(math.atan2(p[0] - x, y - p[1])) % 360
            for p in (points(e)[0], points(e)[-1])
        )
        for e in parts(root, "in-cut")
    ]  # type: ignore[misc]


@pytest.mark.parametrize("name", ["t-track", "thin-neck"])
def test_a_full_throat_leaves_an_arc_at_each_wall(name: str) -> None:
    job = JOBS[name]
    root = tree("pass", name)
    edge = math.degrees(
        math.acos(job.slot.throat_width / job.cutter.head_diameter)
    )  # where the tooth comes out into the throat
    (a, b), (c, d) = in_cut(root)
    assert (a, b, c, d) == pytest.approx((0, edge, 180 - edge, 180), abs=0.05)
    lettered = " ".join(w for w, _ in text_boxes(root))
    assert f"conventional 0 to {edge:.0f}°" in lettered
    assert f"climb {180 - edge:.0f} to 180°" in lettered


def test_a_shallow_throat_is_cut_over_the_whole_width() -> None:
    root = tree("pass", "side")
    assert in_cut(root) == [pytest.approx((0, 180), abs=0.05)]
    assert "conventional 0 to 90° climb 90 to 180°" in " ".join(w for w, _ in text_boxes(root))


def test_a_side_cut_has_its_wall_on_the_side_of_its_name() -> None:
    lettered = {
        name: " ".join(w for w, _ in text_boxes(tree("pass", name)))
        for name in ("one-sided", "climb")
    }
    ((a, b),) = in_cut(tree("pass", "one-sided"))
    # undercut 0.610 in from the plain wall, throat 0.550 in, head radius 0.250 in: the throat's edge is 0.060 in short of the wall
    assert (a, b) == pytest.approx((0, math.degrees(math.acos((0.250 - 0.060) / 0.250))), abs=0.05)
    assert "conventional" in lettered["one-sided"]
    assert "climb" not in lettered["one-sided"]
    ((a, b),) = in_cut(tree("pass", "climb"))
    assert b == pytest.approx(180, abs=0.05)
    assert a > 90
    assert "climb" in lettered["climb"]
    assert "conventional" not in lettered["climb"]


@pytest.mark.parametrize("name", JOBS)
def test_walls_lie_where_the_job_puts_them(name: str) -> None:
    slot = JOBS[name].slot
    root = tree("pass", name)
    k = scale(root)
    p = SETTINGS[name].passes[0]
    axis = float(part(root, "head").attrib["cy"])
    # on the drawing the cutter's axis is at its offset, mirrored when the feed runs the other way
    half = slot.throat_width / 2
    wide = slot.undercut_width
    low, high = (-wide / 2, wide / 2) if slot.sides == 2 else (-half, wide - half)
    turn = -1 if name == "climb" else 1
    want = sorted({round(turn * (y - p["offset_mm"]), 4) for y in (-half, half, low, high)})
    found = sorted(
        {
            (axis - points(e)[0][1]) / k
            for e in (*parts(root, "throat-wall"), *parts(root, "undercut-wall"))
        }
    )
    assert found == pytest.approx(want, abs=2 * STEP / k)


def test_later_passes_and_wrong_settings() -> None:
    for i in range(len(SETTINGS["side"].passes)):
        root = ET.fromstring(engagement(JOBS["side"], SETTINGS["side"], i))
        assert f"pass {i + 1} of 3" in " ".join(w for w, _ in text_boxes(root))
        assert in_cut(root)
    with pytest.raises(ValueError, match="not those of this job"):
        engagement(JOBS["side"], SETTINGS["t-track"])
    with pytest.raises(IndexError):
        engagement(JOBS["side"], SETTINGS["side"], 3)


def test_the_feed_arrow_points_along_the_feed() -> None:
    a, b = points(part(tree("pass", "t-track"), "feed"))
    assert b[0] > a[0]
    assert b[1] == a[1]
