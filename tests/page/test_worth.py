"""What an answer is worth, the feeds, the families of metals, and the drawings of the page."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job import write
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.materials import folder, load
from loadsim.materials.law import metal_law
from loadsim.page import bars, metals, sketch
from loadsim.page.ask import TOGETHER
from loadsim.page.state import BY_KEY
from loadsim.page.worth import STILL, FeedRow, chance, feed_table, held, worths
from loadsim.risk.samples import draws, few_of

DRAWN = draws(12)

#: what the example gives of what is assumed else
ASSUMED = ("cutter.neck_fillet", "cutter.runout", "cutter.edge_skew", "cutter.wear")


def quiet(done: int, of: int) -> None:
    assert 0 <= done <= of


@pytest.fixture(scope="module")
def job() -> Job:
    read = job_from_text(write.example("t-track"), "a")
    return changed(read, {"cutter.neck_diameter": 3.2, "cutter.neck_fillet": None})


@pytest.fixture(scope="module")
def result(job: Job) -> Result:
    return check(job, DRAWN, advise=False)


def test_a_chance_at_the_settings_shown_is_that_of_the_answer(job: Job, result: Result) -> None:
    again = chance(held(job, result.settings), DRAWN)
    assert again == pytest.approx(result.risk.snap_probability, rel=1e-6)


def test_what_an_answer_may_come_to_holds_what_it_comes_to(job: Job, result: Result) -> None:
    at = held(job, result.settings)
    found = worths(at, ["work.lubrication", "machine.feed", *STILL], DRAWN, quiet)
    assert not found.keys() & set(STILL)
    few = few_of(DRAWN)
    for key, choices in (
        ("work.lubrication", ("dry", "brush", "mist", "flood")),
        ("machine.feed", ("hand", "power", "cnc")),
    ):
        chances = [chance(changed(at, {key: choice}), few) for choice in choices]
        assert found[key].low == min(chances)
        assert found[key].high == max(chances)
        assert found[key].factor >= 1


def test_every_question_that_may_move_the_chance_is_weighed(job: Job, result: Result) -> None:
    """A question of the catalogue that is none of these stands on the page without a word."""
    at = changed(held(job, result.settings), {**dict.fromkeys(ASSUMED), "cutter.rake": 0.0})
    alone = [q.key for q in BY_KEY.values() if q.key not in TOGETHER and q.form != "material"]
    found = worths(at, alone, DRAWN, quiet)
    assert set(alone) - set(STILL) - {"cutter.teeth"} == found.keys()
    assert found["cutter.rake"].factor > 1  # though a share of nothing is nothing
    assert "it snaps in" in found["cutter.edge_skew"].words


def test_a_larger_fillet_is_what_not_knowing_costs(job: Job, result: Result) -> None:
    at = held(job, result.settings)
    worth = worths(at, ["cutter.neck_fillet"], DRAWN, quiet)["cutter.neck_fillet"]
    few = few_of(DRAWN)
    larger = chance(changed(at, {"cutter.neck_fillet": 0.4}), few)
    assert larger < chance(at, few)
    assert worth.low <= larger
    assert "Not knowing costs a factor of" in worth.words


@pytest.mark.closed_form("v_f = f_z N n")
def test_the_feeds_rise_and_the_pick_is_the_answer_s(job: Job, result: Result) -> None:
    rows = feed_table(held(job, result.settings), DRAWN, quiet)
    (picked,) = [row for row in rows if row.picked]
    assert picked.snap_probability == pytest.approx(result.risk.snap_probability, rel=1e-6)
    assert picked.force == pytest.approx(result.loads.peak_force_N, rel=1e-6)
    for row in rows:
        rate = row.feed_per_tooth * job.cutter.teeth * result.settings.spindle_speed_rpm / 60
        assert row.rate == pytest.approx(rate)
    for name in ("feed_per_tooth", "snap_probability", "force"):
        values = [getattr(row, name) for row in rows]
        assert values == sorted(values)


@pytest.mark.independent("every member looked at by its own law")
@pytest.mark.parametrize("family", metals.families(), ids=lambda f: f.called)
def test_the_worst_of_a_family_stands_for_it(family: metals.Family) -> None:
    def force(name: str) -> float:
        law = metal_law(load.load_work(name).curves)
        return float(law.median.specific(0.02)) * math.exp(1.645 * float(law.sigma_ln(0.02)))

    begins = metals.FAMILIES[family.called]
    members = [n for n in folder.names("work") if load.load_work(n).family.startswith(begins)]
    assert family.worst in members
    assert force(family.worst) == pytest.approx(max(map(force, members)))


# ---- drawings

SIZES = {
    "throat_width": 6.0, "undercut_width": 10.0, "undercut_height": 2.5, "depth": 7.0, "length": 80.0,
}  # fmt: skip
ALL = [*SIZES, "sides", "open_ends"]


def outline(svg: str) -> list[tuple[float, float]]:
    (path,) = [e for e in ElementTree.fromstring(svg).iter() if e.get("data-part") == "slot"]
    numbers = [float(x) for x in re.findall(r"-?[0-9.]+", path.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@pytest.mark.parametrize("times", [0.1, 1.0, 7.0])
@pytest.mark.closed_form("scale = drawn over true, the same both ways")
def test_the_slot_is_drawn_to_the_scale_that_it_says(times: float) -> None:
    sizes = {key: times * value for key, value in SIZES.items()}
    svg = sketch.slot(sizes, ALL, "metric", sides=2, ends=1)
    points = outline(svg)
    x, y = [p[0] for p in points], [p[1] for p in points]
    said = re.search(r"scale ([0-9.]+):([0-9.]+), mm", svg)
    assert said is not None
    scale = float(said[1]) / float(said[2])
    assert (max(x) - min(x)) / sizes["undercut_width"] == pytest.approx(scale, rel=0.01)
    assert (max(y) - min(y)) / sizes["depth"] == pytest.approx(scale, rel=0.01)
    assert points[-1][0] - points[0][0] == pytest.approx(scale * sizes["throat_width"], rel=0.01)


def test_a_slot_undercut_on_one_side_has_a_plain_wall() -> None:
    points = outline(sketch.slot(SIZES, [], "metric", sides=1, ends=0))
    left = min(p[0] for p in points)
    assert points[0][0] == points[1][0] == left  # straight down from the surface
    width = max(p[0] for p in points) - left
    throat = points[-1][0] - points[0][0]
    assert width / throat == pytest.approx(10 / 6, rel=0.01)
    assert left >= sketch.SIDE  # inside the stock, however lopsided
    assert max(p[0] for p in points) <= sketch.WIDTH - sketch.SIDE


def test_what_is_not_given_is_marked() -> None:
    svg = sketch.slot(SIZES, ["depth"], "inch", sides=2, ends=0)
    assert "throat .2362?" in svg
    assert "depth .2756?" not in svg
    assert "length 3.1496?" in svg
    assert svg.count(">closed?<") == 2
    assert "not given yet" in svg
    assert "not given yet" not in sketch.slot(SIZES, ALL, "inch", sides=2, ends=0)


def test_every_field_of_the_slot_has_its_own_arrow() -> None:
    for sides in (1, 2):
        svg = sketch.slot(SIZES, ALL, "metric", sides=sides, ends=1)
        parts = [e.get("data-part") or "" for e in ElementTree.fromstring(svg).iter()]
        assert {f"dim-{key}" for key in ALL} <= set(parts)
        assert parts.count("dim-sides") == sides


@pytest.mark.parametrize(("ends", "said"), [(0, ["closed"] * 2), (1, ["closed", "open"]),
                                            (2, ["open"] * 2)])  # fmt: skip
def test_the_ends_are_drawn_as_they_are(ends: int, said: list[str]) -> None:
    svg = ElementTree.fromstring(sketch.slot(SIZES, ALL, "metric", sides=2, ends=ends))
    assert [e.text for e in svg.iter() if e.text in ("open", "closed")] == said


@pytest.mark.parametrize("name", ["al-6061-t6", "steel-1045", "acetal"])
@pytest.mark.independent("the metal's law itself, 25.4 mm to the inch, 4.448 N to the lbf")
def test_a_metal_is_told_with_its_doubt(name: str) -> None:
    law = metal_law(load.load_work(name).curves)
    usual = float(law.median.specific(0.02)) * 0.02  # on a mm of edge
    doubt = math.exp(1.96 * float(law.sigma_ln(0.02)))
    for system, edge in (("metric", 1.0), ("inch", 2.54 / 4.4482216)):
        svg, words = bars.metal(name, system)
        numbers = [float(x) for x in re.findall(r"([0-9.]+) (?:N|lbf)\b", words)]
        found = [edge * usual * k for k in (1.0, 1 / doubt, doubt)]
        assert numbers == pytest.approx(found, rel=0.06)  # told with two figures
        (band,) = [e for e in ElementTree.fromstring(svg).iter() if e.get("data-part") == "band"]
        x = [float(v) for v in re.findall(r"[0-9.]+", band.get("d", ""))][::2]
        assert (max(x) - bars.BARS[0]) / (min(x) - bars.BARS[0]) == pytest.approx(
            doubt**2, rel=1e-3
        )


def test_the_chart_says_its_numbers() -> None:
    rows = [
        FeedRow(feed_per_tooth=f, rate=f, snap_probability=p, force=1000 * f, picked=f == 0.02)
        for f, p in ((0.01, 0.0), (0.02, 0.004), (0.04, 1.0))
    ]
    svg = sketch.feeds(rows, 0.01, "metric")
    parts = [e.get("data-part") for e in ElementTree.fromstring(svg).iter()]
    assert {"chance", "force", "accepted", "pick", "handle"} <= set(parts)
    assert "1 in 250" in svg
    # a third of the way from the least feed to the largest
    places = sketch.feed_places(rows)
    assert (places[1] - places[0]) / (places[2] - places[0]) == pytest.approx(1 / 3)
