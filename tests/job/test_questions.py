"""The questions of `loadsim new`: what they take, what they explain, what they leave open, and going
back and on."""

from __future__ import annotations

import random
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from loadsim.base.errors import InputError
from loadsim.job.questions import kept
from loadsim.job.questions.asking import INTRO, asked
from loadsim.job.questions.catalogue import QUESTIONS, STRAIGHT, Question
from loadsim.job.questions.drawings import DRAWINGS
from loadsim.job.read import job_from_text
from loadsim.job.tables import Job
from loadsim.words.left_out import left_out

WORDS = {q.key: q.words for q in QUESTIONS}


class Shop:
    """A user: answers a question from its list, then by its default; keeps what was asked and told."""

    def __init__(self, **answers: list[str]) -> None:
        self.left = {key.replace("__", "."): list(x) for key, x in answers.items()}
        self.asked: list[tuple[str, str]] = []
        self.told: list[str] = []

    def ask(self, question: str, default: str) -> str:
        place, words = question.split(" ", 1)
        assert re.fullmatch(r"[0-9]+/[0-9]+", place)
        (key,) = (k for k, w in WORDS.items() if w == words)
        self.asked.append((key, default))
        mine = self.left.get(key)
        return mine.pop(0) if mine else ""

    def times(self, key: str) -> int:
        return sum(k == key for k, _ in self.asked)

    def job(self, **more: Any) -> Job:
        return job_from_text(asked(self.ask, self.told.append, **more), "answers")

    @property
    def all_told(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.told))


@pytest.mark.parametrize(
    "units", ["", "metric", "mm", "Metric", "in", "inch", "inches", "INCH", '"', "imperial"]
)
def test_empty_lines_make_a_job_in_either_system(units: str) -> None:
    shop = Shop(job__units=[units])
    job = shop.job(left_out=left_out)
    assert job.job.units == ("metric" if units.lower() in ("", "metric", "mm") else "inch")
    assert "Not taken" not in shop.all_told
    assert len(shop.asked) == len(QUESTIONS)
    assert shop.asked[0][0] == STRAIGHT


@pytest.mark.parametrize(("key", "answer", "where"), [
    ("cutter.neck_diameter", "7 mm", "[cutter] neck_diameter"), ("cutter.teeth", "two", "[cutter] teeth"),
    ("cutter.teeth", "²", "[cutter] teeth"), ("job.number", 'a"b\\', ""), ("cutter.rake", "8°", ""),
    ("slot.open_ends", "9" * 30, "[slot] open_ends"), ("job.number", "a\nb", "[job] number"), ("work.material", "\x7f", "[work] material"),
    ("cutter.material", "cheese", "[cutter] material"), ("cutter.material", "al-6061-t6", "[cutter] material"),
    ("slot.depth", "1e999", "[slot] depth"), ("slot.depth", "٣", "[slot] depth"), ("slot.depth", "9" * 5000, "[slot] depth"),
    ("slot.depth", "-3", "[slot] depth"), ("slot.depth", "3,5", "[slot] depth"), ("slot.depth", "nan", "[slot] depth"),
    ("slot.depth", "1/0", "[slot] depth"), ("slot.depth", "3 pints", "[slot] depth"), ("slot.depth", "\x1b[A", "[slot] depth"),
    ("cutter.hardness", "sixty", "[cutter] hardness"), ("cutter.hardness", "200", "[cutter] hardness"),
    ("machine.max_spindle_speed", "1e9", "[machine] max_spindle_speed"), ("machine.feed", "belt", "[machine] feed"),
])  # fmt: skip
def test_an_answer_that_is_wrong_names_its_key(key: str, answer: str, where: str) -> None:
    shop = Shop(**{key.replace(".", "__"): [answer]})
    if not where:  # quotes and signs are text like any other
        shop.job()
        return
    with pytest.raises(InputError) as caught:
        asked(shop.ask)
    assert any(f": {where}: " in x and x.isprintable() for x in caught.value.lines())
    again = Shop(**{key.replace(".", "__"): [answer]})
    again.job()  # on a terminal it is told and asked once more
    assert again.times(key) == 2 and "Not taken: " in again.all_told
    assert all(c.isprintable() or c == "\n" for x in again.told for c in x)


def test_a_slip_is_told_at_once_and_asked_again() -> None:
    """One slip must not lose the answers before it."""
    shop = Shop(
        slot__throat_width=["6"],
        cutter__neck_diameter=["6.5 mm", "4.8 mm"],
        cutter__teeth=["two", "3"],
        work__material=["unobtainium", "1018"],
    )
    job = shop.job()
    assert (job.cutter.neck_diameter, job.cutter.teeth, job.work.material) == (4.8, 3, "steel-1018")
    assert [
        shop.times(k)
        for k in ("cutter.neck_diameter", "cutter.teeth", "work.material", "job.number")
    ] == [2, 2, 2, 1]
    assert "pass through throat_width" in shop.all_told
    assert "write a whole number" in shop.all_told and "without quotes" not in shop.all_told


def test_every_relation_is_judged_when_its_last_key_is_answered() -> None:
    """By the questions alone the job is right: the last check finds nothing new, whatever was mistyped on the way."""
    shop = Shop(
        slot__undercut_width=["5 mm", "12 mm"],
        slot__undercut_height=["8 mm", "2 mm"],
        cutter__head_diameter=["13 mm", "12 mm"],
        cutter__head_height=["3 mm", "2 mm"],
        cutter__neck_fillet=["9 mm", "0.3 mm"],
        cutter__stickout=["5 mm", "20 mm"],
    )
    shop.job()
    assert shop.all_told.count("Not taken") == 6, shop.told


@pytest.mark.parametrize(("units", "key", "typed", "value", "told"), [
    ("inch", "slot.undercut_width", "3/8", 9.525, "Taken: 3/8 in (9.525 mm)."),  # 3/8 x 25.4
    ("inch", "slot.throat_width", ".25", 6.35, "Taken: .25 in (6.350 mm)."),
    ("inch", "slot.length", "1-3/8", 34.925, "Taken: 1-3/8 in (34.925 mm)."),
    ("inch", "slot.length", "1 3/8", 34.925, "Taken: 1 3/8 in (34.925 mm)."),
    ("inch", "slot.length", '2"', 50.8, ""), ("inch", "slot.length", "2 inches", 50.8, ""), ("inch", "slot.length", "50.8 mm", 50.8, ""),
    ("inch", "slot.length", "2''", 50.8, "Taken: 2in (50.800 mm)."), ("inch", "cutter.neck_fillet", "12 thousandths", 0.3048, "Taken: 12 thou"),
    ("inch", "slot.width_tolerance", "5 tenths", 0.0127, "Taken: 0.0005 in (0.013 mm)."),
    ("metric", "slot.length", "80.5", 80.5, "Taken: 80.5 mm (3.1693 in)."), ("metric", "slot.length", "3 in", 76.2, ""),
    ("metric", "slot.length", "80 millimeters", 80.0, "Taken: 80 mm"),
    ("inch", "cutter.head_height", ".09", 2.286, "Taken: .09 in (2.286 mm)."),
])  # fmt: skip
@pytest.mark.closed_form("an inch is 25.4 mm")
def test_a_bare_length_is_in_the_units_of_the_job_and_told_in_full(
    units: str, key: str, typed: str, value: float, told: str
) -> None:
    shop = Shop(job__units=[units], **{key.replace(".", "__"): [typed]})
    table, name = key.split(".")
    assert getattr(getattr(shop.job(), table), name) == pytest.approx(value, rel=1e-12)
    assert told in shop.all_told and (told or typed not in shop.all_told)


@pytest.mark.parametrize(("units", "key", "typed", "written"), [
    ("inch", "machine.max_spindle_speed", "3000", "3000 rpm"), ("metric", "machine.max_spindle_speed", "3000 rpm", "3000 rpm"),
    ("inch", "machine.spindle_power", "1-1/2", "1-1/2 hp"), ("inch", "machine.spindle_power", "2 horsepower", "2 hp"),
    ("metric", "machine.spindle_power", "1.5", "1.5 kW"), ("metric", "machine.spindle_power", "1.5 kilowatts", "1.5 kW"),
    ("metric", "cutter.rake", "5", "5 deg"), ("metric", "cutter.rake", "-5", "-5 deg"), ("inch", "cutter.relief", "7 degrees", "7 degrees"),
    ("inch", "cutter.hardness", "62 HRC", 62.0), ("inch", "cutter.hardness", "Rc 62.5", 62.5),
    ("inch", "work.lubrication", "coolant", "flood"), ("inch", "work.lubrication", "Brush", "brush"), ("inch", "machine.feed", "manual", "hand"),
    ("inch", "cutter.runout", ".001", "0.0005 in"), ("metric", "cutter.runout", "0.02", "0.01 mm"), ("inch", "cutter.runout", "1 thou", "0.0005 in"),
    ("inch", "cutter.wear", "0", "0 in"), ("metric", "job.quantity", "7", 7),
])  # fmt: skip
def test_the_unit_that_a_shop_means_need_not_be_typed(
    units: str, key: str, typed: str, written: object
) -> None:
    shop = Shop(job__units=[units], **{key.replace(".", "__"): [typed]})
    data = tomllib.loads(asked(shop.ask, shop.told.append))
    table, name = key.split(".")
    assert data[table][name] == written
    assert "Not taken" not in shop.all_told


def test_half_of_an_indicator_reading_is_told() -> None:
    shop = Shop(job__units=["inch"], cutter__runout=[".0008"])
    assert shop.job().cutter.runout == pytest.approx(0.0004 * 25.4)
    assert "Taken: 0.0004 in radial, half of the reading." in shop.all_told


@pytest.mark.parametrize("say", ["dk", "DK", "don't know", "Don’t know", "unknown", "no idea", ""])
@pytest.mark.parametrize(("key", "assumed"), [
    ("cutter.hardness", "usual for hss-m2"), ("cutter.neck_fillet", "Assumed a fillet of"), ("cutter.relief", "a relief of 7.0 deg"),
    ("cutter.wear", "fresh from the stone"), ("cutter.runout", "a radial runout of 0.010 mm"), ("slot.width_tolerance", "plus and minus 0.200 mm"),
])  # fmt: skip
def test_what_is_not_known_stays_open_and_what_is_assumed_is_told(
    say: str, key: str, assumed: str
) -> None:
    """The tolerance is that of ISO 2768-1, medium, for 6 to 30 mm."""
    shop = Shop(**{key.replace(".", "__"): [say]})
    table, name = key.split(".")
    assert getattr(getattr(shop.job(left_out=left_out), table), name) is None
    (said,) = (x for x in shop.told if assumed in re.sub(r"\s+", " ", x))
    assert "Left open. Assumed" in said and "job file" not in said
    assert shop.times(key) == 1


def test_a_handwheel_that_is_not_known_stays_open_though_one_is_offered() -> None:
    shop = Shop(job__units=["inch"], machine__handwheel=["dk"])
    assert shop.job(left_out=left_out).machine.handwheel is None
    assert dict(shop.asked)["machine.handwheel"] == "0.100 in"
    assert "Assumed a table travel of" in shop.all_told


@pytest.mark.parametrize("key", [q.key for q in QUESTIONS if not q.silent and q.key != STRAIGHT])
def test_what_must_be_known_is_asked_again_with_how_to_find_it(key: str) -> None:
    shop = Shop(**{key.replace(".", "__"): ["dk"]})
    shop.job()
    assert shop.times(key) == 2
    assert "this must be known" in shop.all_told


@pytest.mark.parametrize(("answers", "head", "neck"), [
    ({}, 10.0, 4.8),  # the whole undercut in one pass: 0.8 of the throat of 6
    ({"cutter__head_diameter": ["8"]}, 8.0, 3.2),  # 1 to either side: 0.8 x (6 - 2)
    ({"slot__open_ends": ["0"]}, 6.0, 1.6),  # it enters through the throat and steps 2 to either side: 0.8 x (6 - 4)
    ({"slot__sides": ["1"]}, 10.0, 1.6),  # its centre stands 5 from the plain wall, the throat ends at 6: 0.8 x 2 x (6 - 5)
])  # fmt: skip
@pytest.mark.closed_form("the neck's edge stays inside the throat when the head reaches the wall")
def test_the_cutter_that_is_offered_passes_its_slot(
    answers: dict[str, list[str]], head: float, neck: float
) -> None:
    job = Shop(**answers).job()
    assert (job.cutter.head_diameter, job.cutter.neck_diameter) == pytest.approx((head, neck))


def test_a_power_feed_has_no_handwheel_to_ask_for() -> None:
    shop = Shop(machine__feed=["power"])
    assert shop.job().machine.handwheel is None
    assert shop.times("machine.handwheel") == 0


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda q: q.key)
def test_every_question_is_explained_on_a_page_that_is_narrow(question: Question) -> None:
    shop = Shop(**{question.key.replace(".", "__"): ["?", "help"]})
    shop.job()
    assert shop.times(question.key) == 3
    text = next(x for x in shop.told if re.sub(r"\s+", " ", x).startswith(f" {question.help}"))
    assert all(len(x) <= 78 and x.isascii() for x in text.splitlines())
    drawing = DRAWINGS.get(question.key, "").splitlines()
    assert len(drawing) <= 8 and all(len(x) <= 76 for x in drawing)
    assert (not drawing) or "\n".join(drawing) in text
    length = question.form in ("quantity", "reading") and question.table in ("slot", "cutter")
    assert bool(drawing) >= length, "a dimension has a drawing"
    assert bool(question.measure) >= length
    if question.silent:
        assert "Type: don't know" in text


def test_the_drawings_name_what_is_asked() -> None:
    for key, drawing in DRAWINGS.items():
        if key not in (
            "slot.sides",
            "slot.open_ends",
            "cutter.teeth",
            "cutter.runout",
            "machine.handwheel",
        ):
            assert "this" in drawing, key


def test_back_goes_back_one_and_offers_what_was_typed() -> None:
    shop = Shop(
        slot__length=["60", ""],
        slot__sides=["back"],
        slot__depth=["9"],
        slot__undercut_height=["back", "3"],
    )
    job = shop.job()
    assert (job.slot.length, job.slot.depth, job.slot.undercut_height) == (60.0, 9.0, 3.0)
    assert [d for k, d in shop.asked if k == "slot.length"] == ["80 mm", "60"]
    assert [d for k, d in shop.asked if k == "slot.depth"] == ["7 mm", "9"]


def test_there_is_nothing_before_the_first_question() -> None:
    shop = Shop(slot__straight=["back", "yes"])
    shop.job()
    assert "This is the first question" in shop.all_told


@pytest.mark.parametrize("no", ["no", "n", "No"])
def test_a_slot_that_is_not_straight_ends_it_with_what_is_answered_for(no: str) -> None:
    with pytest.raises(
        InputError, match=r"Straight slots only.*no ring groove; nothing was written"
    ):
        Shop(slot__straight=[no]).job()


def test_straight_is_yes_or_no() -> None:
    shop = Shop(slot__straight=["maybe", "dk", "yes"])
    shop.job()
    assert shop.times(STRAIGHT) == 3


def test_several_materials_are_listed_and_one_is_taken_by_its_number() -> None:
    shop = Shop(work__material=["6061", "2"], cutter__material=["?", "10"])
    job = shop.job()
    assert (job.work.material, job.cutter.material) == ("al-6061-t6", "carbide-fine")
    assert "1 al-6061-o" in shop.all_told and "2 al-6061-t6" in shop.all_told
    assert "Taken: al-6061-t6 (Aluminum 6061-T6)." in shop.all_told


@pytest.mark.parametrize("text", ["0", "3", "99", "-1", "1.5"])
def test_a_number_past_the_list_is_none_of_it(text: str) -> None:
    shop = Shop(work__material=["6061", text, "1018"])
    assert shop.job().work.material == "steel-1018"


def test_a_material_file_of_the_shops_own(tmp_path: Path) -> None:
    shop = Shop(work__material=[str(tmp_path / "none.toml"), "al-6061-t6"])
    assert shop.job().work.material == "al-6061-t6"
    assert "there is no such file" in shop.all_told


def test_what_was_typed_is_kept_and_taken_up(tmp_path: Path) -> None:
    first = Shop(
        job__units=["inch"],
        work__material=["1018"],
        slot__throat_width=["5/16"],
        cutter__hardness=["dk"],
    )
    states: list[dict[str, str]] = []

    def keep(typed: dict[str, str]) -> None:
        kept.keep(tmp_path, typed)
        states.append(dict(typed))

    whole = asked(first.ask, first.told.append, keep=keep)
    assert len(states) == len(QUESTIONS) and kept.kept_in(tmp_path) == states[-1]
    for n in (1, 6, 20, len(QUESTIONS)):
        kept.keep(tmp_path, states[n - 1])
        rest = Shop()
        again = asked(rest.ask, rest.told.append, start=kept.kept_in(tmp_path))
        assert len(rest.asked) == len(QUESTIONS) - n
        if n == len(QUESTIONS):
            assert again == whole
    kept.drop(tmp_path)
    assert list(tmp_path.iterdir()) == []
    kept.drop(tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "[answers]\na = 1",
        "answers = 3",
        "[answers]",
        "\x00",
        "a." * 50 + "b=1",
        "[" * 9999,
    ],
)
def test_what_was_kept_and_cannot_be_read_is_as_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / kept.NAME).write_text(text, encoding="utf-8")
    assert kept.kept_in(tmp_path) is None


def test_what_was_kept_is_judged_like_what_is_typed() -> None:
    shop = Shop()
    start = {
        STRAIGHT: "yes",
        "slot.depth": "9 pints",
        "gone.key": "3",
        "cutter.teeth": "back",
        "slot.length": "?",
    }
    assert shop.job(start=start).slot.depth == 7.0
    assert "pints" in shop.all_told


def test_what_the_shop_file_gives_is_not_asked_for() -> None:
    machine = {
        "max_spindle_speed": "3200 rpm",
        "spindle_power": "2 hp",
        "feed": "hand",
        "handwheel": "0.2 in",
    }
    fixed = {"machine": machine, "cutter": {"material": "hss-m42"}}
    shop = Shop()
    text = asked(shop.ask, shop.told.append, fixed=fixed, left_out=left_out)
    assert not [k for k, _ in shop.asked if k.startswith("machine.") or k == "cutter.material"]
    data = tomllib.loads(text)
    assert data["machine"] == {} and "material" not in data["cutter"]


def test_the_beginning_says_how_long_and_what_helps() -> None:
    assert len(QUESTIONS) in range(28, 35) and "About 30 questions" in INTRO
    for word in ("ten minutes", "?", "back", "don't know", "Ctrl-C", "empty line"):
        assert word in INTRO


@pytest.mark.parametrize("seed", range(12))
def test_odd_answers_never_end_it(seed: int) -> None:
    """Whatever is typed is taken, told, or asked again; at the end a job stands."""
    draw = random.Random(seed)
    odd = [
        "1e999", "٣", "½", "\x00", "\ud800", "'", '"', "back", "?", "list", "-", "999999999999", "0", "1/0", "NaN", "x" * 9000,
        "6061", "2", "dk", "3/8", ".5", "5 furlongs", "inch", "\u202e", "#", "[slot]", "yes", " ", "${HOME}", "../../etc/passwd",
    ]  # fmt: skip
    budget = [60]
    asked_for: list[str] = []

    def ask(question: str, default: str) -> str:
        asked_for.append(question)
        budget[0] -= 1
        if question.endswith("(yes or no)") or budget[0] < 0:
            return ""
        return draw.choice(odd)

    told: list[str] = []
    text = asked(ask, told.append, left_out=left_out)
    assert job_from_text(text, "answers").cutter.teeth > 0
    assert all(c.isprintable() or c == "\n" for x in told for c in x)
