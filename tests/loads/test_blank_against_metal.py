"""Blank against metal: what shops do every day passes, what cannot cut does not; hand arithmetic."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from loadsim import check, plan
from loadsim.answers.cutter.grinding_sheet import sheet
from loadsim.answers.results import Result, Verdict
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.limits.blank_against_metal import blank_against_metal, edge_hardness
from loadsim.loads.limits.utilization import Utilization
from loadsim.materials.folder import names
from loadsim.materials.load import load_blank, load_work
from loadsim.report.embed import payload
from loadsim.report.sheet.content import page
from loadsim.risk import samples

NAME = "blank against metal"


def limit(metal: str, blank: str, HRC: float | None = None, HV: float | None = None) -> Utilization:
    """The limit of a metal, of the hardness given or its own."""
    work = load_work(metal)
    tool = load_blank(blank)
    harder = replace(work, hardness_HV=work.hardness_HV if HV is None else HV)
    (only,) = blank_against_metal(harder, tool, edge_hardness(tool, HRC), np.ones(1))
    return only


def use(metal: str, blank: str, HRC: float | None = None, HV: float | None = None) -> float:
    return float(limit(metal, blank, HRC, HV).utilization[0])


@pytest.mark.closed_form(
    "1.35 x 354 HV over 0.80 x 800 HV; 513 over 302 HV; 1.35 x 100 over 0.93 x 205"
)
def test_the_worse_of_hardness_and_abrasion() -> None:
    assert use("ti-6al-4v", "hss-m2") == pytest.approx(1.35 * 354 / 640)
    assert use("steel-1018", "drill-shank-soft") == pytest.approx(513 / 302)
    assert use("al-6061-t6", "drill-rod-annealed") == pytest.approx(1.35 * 100 / (0.93 * 205))
    assert limit("ti-6al-4v", "hss-m2").facts["scraped"] is False
    assert limit("steel-1018", "drill-shank-soft").facts["scraped"] is True


HSS = ("hss-m2", "hss-m35", "hss-m42", "hss-t15", "hss-m4-pm")
CARBON = ("o1-hardened", "w1-hardened", "a2-hardened", "d2-hardened")
SOFT = ("drill-rod-annealed", "drill-shank-soft")
DAILY = [
    *((metal, blank, None) for blank in HSS for metal in names("work")),
    *((metal, blank, 60.0) for blank in CARBON
      for metal in ("al-6061-t6", "al-7075-t6", "brass-360", "steel-1018", "steel-12l14", "acetal")),
    *((metal, blank, None) for blank in SOFT for metal in ("al-1100-o", "al-6061-o", "acetal", "nylon-66")),
]  # fmt: skip


@pytest.mark.published("ShopPractice: what is cut with what every day", read="memory (medium)")
@pytest.mark.parametrize(("metal", "blank", "HRC"), DAILY)
def test_what_shops_do_every_day_is_not_held_up(metal: str, blank: str, HRC: float | None) -> None:
    assert use(metal, blank, HRC) <= 0.8  # a go keeps every hard limit under this


@pytest.mark.published("ShopPractice: an edge to cut steel is hardened", read="memory (medium)")
@pytest.mark.parametrize("blank", SOFT)
@pytest.mark.parametrize(
    "metal",
    ["steel-12l14", "steel-1018", "steel-1045", "steel-4140-ph", "tool-steel-d2", "stainless-303", "stainless-304",
     "stainless-17-4", "ti-6al-4v", "iron-grey"],
)  # fmt: skip
def test_a_soft_blank_cuts_no_steel_stainless_titanium_or_iron(metal: str, blank: str) -> None:
    assert use(metal, blank) > 1


@pytest.mark.published("HardnessConversion: 45 HRC is 446 HV, 50 HRC 513 HV", read="memory (high)")
def test_high_speed_steel_stops_between_45_and_50_hrc() -> None:
    assert use("tool-steel-d2", "hss-m2", HV=446.0) <= 1
    assert use("tool-steel-d2", "hss-m2", HV=513.0) > 1
    assert use("tool-steel-d2", "carbide-fine", HV=513.0) <= 0.8
    # a hardness that the job gives counts: 650 HV at 58 HRC, 865 at 66
    assert use("ti-6al-4v", "hss-m2", 58.0) == pytest.approx(1.35 * 354 / (0.8 * 649))
    assert use("ti-6al-4v", "hss-m2", 66.0) == pytest.approx(1.35 * 354 / (0.8 * 865))


def track(**changes: object) -> Job:
    base = job_from_text(example("t-track"), "t-track")
    return changed(base, {key.replace("__", "."): value for key, value in changes.items()})


def soft(metal: str, blank: str) -> Job:
    """A stout cutter that nothing else stops: a shallow slot, a slow feed."""
    return track(
        work__material=metal,
        cutter__material=blank,
        cutter__hardness=None,
        cut__feed_per_tooth=0.005,
    )


@pytest.mark.parametrize("blank", SOFT)
@pytest.mark.parametrize("metal", ["ti-6al-4v", "stainless-303", "tool-steel-d2"])
def test_a_whole_answer_refuses_what_cannot_cut(metal: str, blank: str) -> None:
    result = check(soft(metal, blank), samples.draws(10))
    (held,) = [x for x in result.limits if x.name == NAME]
    assert (result.verdict, held.hard, held.over) == (Verdict.NO_GO, True, True)
    assert set(load_blank(blank).cautions) <= set(result.warnings)


def test_a_hardened_blank_is_what_helps() -> None:
    result = check(track(cutter__material="drill-shank-soft", cutter__hardness=None,
                         work__material="steel-1018", cut__spindle_speed=None, cut__feed_per_tooth=None),
                   samples.draws(10))  # fmt: skip
    assert result.verdict is Verdict.NO_GO
    assert any("high-speed steel (M2)" in text for text in result.advice)


def test_plan_finds_no_safe_way_with_a_blank_that_cannot_cut() -> None:
    found = plan(soft("stainless-303", "drill-shank-soft"))
    assert found.result.verdict is Verdict.NO_GO
    assert not found.safe
    assert all(x.verdict is Verdict.NO_GO and NAME in x.bound_by for x in found.alternatives)


def of(result: Result) -> set[str]:
    return set(result.warnings)


def test_what_is_not_known_is_told_and_not_judged(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(
        'kind = "work"\ntitle = "Ours"\nfamily = "stainless"\nsource = "test cuts"\n'
        'surface_speed = { lo = 5, hi = 20, unit = "m/min" }\n[curves.ours]\nmodel = "kienzle"\n'
        'k_c11 = { value = 1800, unit = "MPa" }\nm_c = { value = 0.2, unit = "1" }\n',
        encoding="utf-8",
    )
    result = check(soft(str(own), "drill-shank-soft"), samples.draws(10))
    assert NAME not in {x.name for x in result.limits}
    assert any("gives no hardness_HV" in text and "not judged" in text for text in of(result))
    text = own.read_text(encoding="utf-8").replace(
        "[curves", 'hardness_HV = { value = 180, unit = "HV" }\n[curves'
    )
    own.write_text(text, encoding="utf-8")
    result = check(soft(str(own), "drill-shank-soft"), samples.draws(10))
    assert NAME in {x.name for x in result.limits if x.over}
    assert not any("hardness_HV" in text for text in of(result))


def test_cautions_of_the_blank_reach_the_sheets() -> None:
    job = job_from_text(example("t-track"), "t-track")
    carbide = changed(job, {"cutter.material": "carbide-fine", "cutter.hardness": None})
    dust = "Dust of carbide and cobalt harms the lungs: grind wet with suction."
    found = plan(carbide, samples.draws(10))
    assert dust in found.result.warnings
    assert dust in page(found, payload.gather(found, carbide, "today")).warnings
    ground = {
        "grind.gullet_depth": 2.0, "grind.land": 0.3, "cutter.face_offset": 0.0, "cutter.rake": None,
    }  # fmt: skip
    assert dust in sheet(changed(carbide, ground)).notes
