"""What stands for an answer that nobody has given."""

from __future__ import annotations

from pathlib import Path

import pytest

from loadsim.answers.check import check
from loadsim.job.questions.asking import filled as as_usual
from loadsim.job.read import changed, job_from_dict
from loadsim.page import state, usual
from loadsim.page.desk import Desk, open_keys
from loadsim.page.state import BY_KEY, Answers
from loadsim.page.worth import chance, held
from loadsim.risk.samples import draws

GIVEN = {
    "job.number": "A-1", "job.units": "inch", "work.material": "1018", "page.ground": "yes",
    "slot.throat_width": ".25", "slot.undercut_width": "13/32", "slot.depth": ".28",
    "slot.undercut_height": ".1", "slot.length": "3", "slot.sides": "2", "slot.open_ends": "1",
    "slot.width_tolerance": "don't know", "cutter.neck_diameter": ".16",
    "cutter.neck_length": "0.2", "cutter.head_diameter": "don't know",
    "cutter.head_height": "don't know",
}  # fmt: skip


@pytest.mark.parametrize("units", ["inch", "metric"])
@pytest.mark.parametrize("key", sorted(usual.ON_THE_SAFE_SIDE))
def test_the_safe_side_asks_no_less_of_the_neck(tmp_path: Path, key: str, units: str) -> None:
    typed = {k: f"{t} in" if BY_KEY.get(k) and BY_KEY[k].form == "quantity" and t[0] in ".0123" else t
             for k, t in GIVEN.items()}  # fmt: skip
    so_far = state.stand(Answers(tmp_path / "a.toml", {**typed, "job.units": units})).so_far
    tables = as_usual(so_far)
    table, _, name = key.partition(".")
    safe = usual.filled(so_far)[table][name]
    before = tables[table][name]
    assert before != safe
    sample = draws(12)
    tables[table][name] = safe
    job = job_from_dict(tables, "a")
    at = held(job, check(job, sample, advise=False).settings)  # a feed picked anew would hide it
    tables[table][name] = before
    was = getattr(getattr(job_from_dict(tables, "a"), table), name)
    assert chance(at, sample) >= chance(changed(at, {key: was}), sample) > 0


def test_what_nobody_has_given_is_still_asked_for_after_a_save(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    answers = Answers(path, dict(GIVEN))
    before = open_keys(state.stand(answers))
    path.write_text(state.text_of(answers, state.stand(answers)), encoding="utf-8")
    assert open_keys(state.stand(state.opened(path))) == before  # the file alone tells
    desk = Desk(path)
    desk.take({"cutter.teeth": "3"}, final=True)
    desk.save()
    again = state.stand(state.opened(path))
    assert open_keys(again) == [key for key in before if key != "cutter.teeth"]
    assert "cutter.rake" in state.assumed(again)


def test_a_number_changed_in_the_file_by_hand_is_given(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    answers = Answers(path, dict(GIVEN))
    text = state.text_of(answers, state.stand(answers))
    assert 'rake = "0 deg"' in text
    path.write_text(text.replace('rake = "0 deg"', 'rake = "5 deg"'), encoding="utf-8")
    again = state.stand(state.opened(path))
    assert again.so_far.values["cutter.rake"] == "5 deg"
    assert "cutter.rake" not in open_keys(again)


def test_the_page_says_on_which_side_it_stands(tmp_path: Path) -> None:
    from loadsim.page import views
    from loadsim.page.guard import Guard

    desk = Desk(tmp_path / "job.toml")
    desk.answers.typed = dict(GIVEN)
    shown = {key: views.page(desk, Guard(port=1), key, live=True) for key in
             ("cutter.rake", "cutter.stickout", "cutter.teeth")}  # fmt: skip
    assert "Until it is answered, 0 deg is taken, the safe side." in shown["cutter.rake"]
    assert "in is taken, as if it were known." in shown["cutter.stickout"]
    assert "Until it is answered, 2 is taken, as if it were known." in shown["cutter.teeth"]
