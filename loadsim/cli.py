"""The command line: arguments and exit codes, nothing else."""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from loadsim.base.errors import InputError, LoadsimError, Problem, printable
from loadsim.base.files import alone, may_write, write_whole
from loadsim.base.units import System
from loadsim.base.version import __version__
from loadsim.report.terminal.streams import Forecast, Working, out, out_page, replace_unknown, say

if TYPE_CHECKING:
    from loadsim.job.tables import Job

R = TypeVar("R")

#: Points of a map in one piece of work: few, as a stop from the keyboard waits for the pieces that
#: have begun. [1]
PIECE = 16

HELP = {"help_option_names": ["-h", "--help"], "max_content_width": 100}

json_option = click.option(
    "--json", "as_json", is_flag=True, help="One JSON object on standard output, nothing else."
)
full_option = click.option(
    "--full", "full", is_flag=True, help="Tell all, not only what goes on one screen."
)
force_option = click.option("--force", is_flag=True, help="Write over a file that is there.")


@click.group(context_settings=HELP)
@click.version_option(__version__, prog_name="loadsim")
def cli() -> None:
    """Will the neck of a hand-ground undercut cutter survive the cut?

    \b
    First steps:
      loadsim page job.toml     ask and answer in your browser
      loadsim new job.toml      write a job file, from questions
      loadsim check job.toml    will the neck survive?
      loadsim plan job.toml     what to set on the machine, and whether to pre-drill
      loadsim grind job.toml    the cutter for the slot, and how to grind it
      loadsim report job.toml   the sheet for the job traveler
      loadsim trial job.toml    which scrap test cut to make, and what those made have taught
      loadsim shop              what your shop has, filled in where a job file is silent
      loadsim materials         what can be cut, and with what

    Straight slots only, T-shaped or undercut on one side: no dovetail, no keyseat (throat as wide
    as the undercut), no ring groove.

    An estimate, not a guarantee: prove the cut on scrap; the machine's manual and qualified people
    come first.
    """


@cli.command(epilog="Example: loadsim check job.toml")
@click.argument("path", metavar="JOB")
@full_option
@json_option
def check(path: str, full: bool, as_json: bool) -> None:
    """Will the neck survive the cut as written in [cut]? What is left out there is picked.

    JOB is a job file, a report, or - for standard input. Exit status: 0 go or to be proved on scrap
    first (marginal), 1 no-go, 2 bad input.
    """
    from loadsim.answers.check import check as run
    from loadsim.report.embed.rerun import changes, read_either
    from loadsim.report.terminal.check import check_text
    from loadsim.report.terminal.short_check import short_check

    job, old = read_either(path, planned=True)
    with Working("step") as working:
        result = _named(path, lambda: run(job, progress=working.tell))
    news = changes(old, result.to_dict())
    tell = check_text if full else short_check
    out(_json(result.to_dict()) if as_json else tell(result, job))
    say(*news, *_from_shop(job, as_json))
    sys.exit(_status(result.verdict))


@cli.command(epilog="Example: loadsim plan job.toml")
@click.argument("path", metavar="JOB")
@full_option
@json_option
def plan(path: str, full: bool, as_json: bool) -> None:
    """Pick speed, feed, stepover and passes, and say whether to pre-drill.

    What [cut] gives is kept, what it leaves out is picked. The ways that lost are shown with the
    reason. JOB is a job file, a report, or - for standard input. Exit status: 0 go or to be proved
    on scrap first, 1 no-go, 2 bad input.
    """
    from loadsim.answers.plan import plan as run
    from loadsim.report.embed.rerun import changes, read_either
    from loadsim.report.terminal.plan import plan_text
    from loadsim.report.terminal.short_check import short_plan

    job, old = read_either(path, planned=False)
    with Working("way") as working:
        answer = _named(path, lambda: run(job, progress=working.tell))
    news = changes(old, answer.to_dict())
    tell = plan_text if full else short_plan
    out(_json(answer.to_dict()) if as_json else tell(answer))
    say(*news, *_from_shop(job, as_json))
    sys.exit(_status(answer.result.verdict))


@cli.command(epilog="Example: loadsim report job.toml")
@click.argument("path", metavar="JOB")
@click.option(
    "-o",
    "--output",
    metavar="FILE",
    help="Where the report goes; reports/<job number>.html when left out, - for standard output.",
)
@click.option(
    "--force", is_flag=True, help="Write over a file that is there and is no report of this job."
)
@full_option
def report(path: str, output: str | None, force: bool, full: bool) -> None:
    """Write the report for the job traveler: one HTML file that prints, reads on a phone and can be
    run again.

    JOB is a job file, a report written earlier, or - for standard input. Exit status: 0 go or to be
    proved on scrap first, 1 no-go, 2 bad input.
    """
    from loadsim.answers.plan import plan as run
    from loadsim.report import html
    from loadsim.report.embed.rerun import changes, read_either

    job, old = read_either(path, planned=False)
    file = None if output == "-" else html.where(job, output)
    if file is not None:
        html.may_write(file, job, force)
    with Working("way") as working:
        answer = _named(path, lambda: run(job, progress=working.tell))
        working.say("making the page")
        if file is not None:
            html.write_report(answer, file, force=force, full=full)
        text = html.page_text(answer, full=full) if file is None else ""
    if file is None:
        out_page(text)
    else:
        say(f"Wrote {file}: {answer.result.verdict}. Print page one for the traveler.")
    say(*changes(old, answer.to_dict()), *_from_shop(job, False))
    sys.exit(_status(answer.result.verdict))


@cli.command(
    epilog=(
        'Example: loadsim trial job.toml --record outcome=survived "length=30 mm" "spindle_power=40'
        ' W" "spindle_power_uncertainty=10 W"'
    )
)
@click.argument("path", metavar="JOB")
@click.argument("entries", metavar="[KEY=VALUE]...", nargs=-1)
@click.option(
    "--record",
    is_flag=True,
    help="Add a [[trial]] table made of the KEY=VALUE entries to the end of JOB.",
)
@full_option
@json_option
def trial(path: str, entries: tuple[str, ...], record: bool, full: bool, as_json: bool) -> None:
    """What scrap test cuts teach: before and after, and which one to make next.

    JOB is a job file, or - for standard input. Its [[trial]] tables count, and those of the files
    that [job] trials names. Exit status: 0, 2 bad input.
    """
    from loadsim.answers import trial_sheet
    from loadsim.job.read import read_job
    from loadsim.report.terminal.short_trial import short_trial
    from loadsim.report.terminal.trial import trial_text

    if record != bool(entries):
        raise InputError(
            path, [Problem(where="", message="--record and KEY=VALUE entries belong together")]
        )
    if record:
        _record(path, entries)
    job = read_job(path)
    with Working("step") as working:
        answer = _named(path, lambda: trial_sheet.sheet_of(job, working.tell))
    tell = trial_text if full else short_trial
    out(_json(answer.to_dict()) if as_json else tell(answer, job))
    say(*_from_shop(job, as_json))


def _record(path: str, entries: tuple[str, ...]) -> None:
    """Add a test cut to a job file, whole or not at all; what it then says is another matter."""
    from loadsim.job.read import read_text
    from loadsim.job.write import recorded

    if path == "-":
        raise InputError(
            path, [Problem(where="", message="cannot be written to; give the path of the job file")]
        )
    read_text(path)  # what is not there, or no file, is said as ever
    with alone(Path(path)):
        write_whole(Path(path), recorded(read_text(path), path, entries))
    say(f"Recorded in {path}.")


@cli.command(epilog="Example: loadsim grind job.toml -o cutter.toml")
@click.argument("path", metavar="JOB")
@json_option
@click.option(
    "-o", "--output", metavar="FILE", help="Write the job file with the cutter filled in."
)
@force_option
@full_option
def grind(path: str, as_json: bool, output: str | None, force: bool, full: bool) -> None:
    """Propose the cutter for a slot and print its grinding sheet.

    [cutter] in JOB may say as little as its material; what it says is kept and checked. JOB is a
    job file, or - for standard input. Exit status: 0 the cutter's plan is a go or to be proved on
    scrap first, 1 it is a no-go, 2 bad input.
    """
    from loadsim.answers.cutter.design import grind as run
    from loadsim.answers.cutter.grinding_sheet import sheet
    from loadsim.job.material_paths import seen_from
    from loadsim.job.write import completed
    from loadsim.report.terminal.grind import grind_text
    from loadsim.report.terminal.short_grind import short_grind

    if output is not None:
        may_write(Path(output), force)
    with Working("way") as working:
        answer = _named(path, lambda: run(path, working.tell))
    steps = sheet(answer.job)
    data = {**answer.to_dict(), "sheet": steps.to_dict()}
    tell = grind_text if full else short_grind
    out(_json(data) if as_json else tell(answer, steps))
    say(*_from_shop(answer.job, as_json))
    if output is not None:
        write_whole(
            Path(output), completed(seen_from(answer.data, Path(output).parent)), new=not force
        )
        say(f"Wrote {output}. Next: loadsim plan {output}")
    sys.exit(_status(answer.plan.result.verdict))


@cli.command(
    "map",
    epilog=(
        'Example: loadsim map job.toml --over "cut.feed_per_tooth=0.005 mm:0.03 mm:20" --csv'
        " map.csv"
    ),
)
@click.argument("path", metavar="JOB")
@click.option(
    "--over",
    multiple=True,
    required=True,
    metavar="KEY=VALUES",
    help=(
        "A quantity and its values, low:high:count or a list with commas, each with its unit; one"
        " to three of them."
    ),
)
@click.option("--csv", "csv", required=True, metavar="FILE", help="Where the table goes.")
@click.option("--no-probability", is_flag=True, help="Loads and limits only, which is far quicker.")
@click.option(
    "--workers",
    type=click.IntRange(1, 256),
    default=1,
    show_default=True,
    help="Processes that share the work.",
)
@force_option
def map_(
    path: str, over: tuple[str, ...], csv: str, no_probability: bool, workers: int, force: bool
) -> None:
    """Write a table over one to three quantities of the job, one row a point, to CSV."""
    from loadsim.answers.maps.axes import parse_over
    from loadsim.answers.maps.stream import write_table
    from loadsim.answers.maps.workers import worker_pool
    from loadsim.job.read import read_job

    file = Path(csv)
    may_write(file, force)
    job = read_job(path)
    if job.trial or job.job.trials:
        say("A map does not count the test cuts of this job; loadsim check does.")
    say(*_from_shop(job, False))
    axes = [parse_over(x) for x in over]
    if len(dict(axes)) < len(axes):
        raise InputError(
            "--over", [Problem(where="", message="names a quantity twice; give each once")]
        )
    bar = click.progressbar(
        length=100, label="points", file=sys.stderr, hidden=not sys.stderr.isatty()
    )
    forecast = Forecast(workers)

    def tell(done: int, count: int) -> None:
        forecast.tell(done, count)
        shown.update(100 * done // count - shown.pos)

    with worker_pool(workers) as pool, bar as shown:
        rows = _named(
            path,
            lambda: write_table(
                job,
                dict(axes),
                file,
                new=not force,
                probability=not no_probability,
                executor=pool,
                chunk=PIECE,
                progress=tell,
            ),
        )
    say(f"Wrote {rows} rows to {csv}.")


@cli.command(epilog="Example: loadsim new --example t-track job.toml")
@click.argument("file", metavar="[FILE]", default="job.toml")
@click.option(
    "--example",
    metavar="NAME",
    help="Write an example instead of asking: t-track, thin-neck or one-sided.",
)
@click.option(
    "--schema",
    is_flag=True,
    help="Write job.schema.json beside it, by which an editor completes the file.",
)
@force_option
def new(file: str, example: str | None, schema: bool, force: bool) -> None:
    """Write a commented job file: from questions on a terminal, or one of the examples.

    Straight slots only, T-shaped or undercut on one side: no dovetail, no keyseat (throat as wide
    as the undercut), no ring groove. About 30 questions, some ten minutes: ? explains, back goes
    back, an empty line takes the answer in brackets, Ctrl-C keeps what was typed for the next time.
    """
    from loadsim.report.terminal import questions

    questions.new(file, example, schema, force)


@cli.command(epilog="Example: loadsim page job.toml")
@click.argument("file", metavar="[JOB]", default="job.toml")
@click.option("--no-browser", is_flag=True, help="Only tell the address; open it yourself.")
def page(file: str, no_browser: bool) -> None:
    """Ask and answer in your browser: for who does not write job files.

    The page is served by this program to this machine alone. JOB is a job file, there or to come;
    what is typed is kept beside it. It ends by its button, or by Ctrl-C here.
    """
    from loadsim.page.start import start

    start(file, browser=not no_browser)


@cli.command(epilog="Example: loadsim shop --save job.toml")
@click.option("--save", "job", metavar="JOB", help="Save what JOB says of the shop.")
@click.option(
    "--here", is_flag=True, help="Beside the job files of this folder, not for all of yours."
)
@force_option
def shop(job: str | None, here: bool, force: bool) -> None:
    """Show the shop file, or save one: the machine, the usual blank, the runout and the files of
    test cuts that job files may then leave out.

    A shop.toml beside a job file goes before the one in your own folder (that of your settings, or
    the one that the environment variable LOADSIM_SHOP names). What a job file says is never
    changed, and each answer tells what came from the shop file.
    """
    from loadsim.report.terminal import shop as shop_file

    if job is None:
        out(shop_file.shown())
    else:
        say(*shop_file.save(job, here, force))


@cli.command(epilog="Example: loadsim materials al-6061-t6 --html al-6061-t6.html")
@click.argument("name", required=False)
@json_option
@click.option(
    "--html",
    "html",
    metavar="FILE",
    help="Write the page of NAME instead: chart and tables of a metal, tables of a blank.",
)
@click.option(
    "--units",
    type=click.Choice(["metric", "inch"]),
    default="metric",
    show_default=True,
    help="Units of what is shown; JSON keeps mm and N.",
)
@force_option
def materials(
    name: str | None, as_json: bool, html: str | None, units: System, force: bool
) -> None:
    """List the materials, or show one with its values and sources.

    Of a metal it shows the force on a millimetre of edge over the chip, with the band that holds
    nine cuts in ten, and what every source says by itself. NAME is a name from the list, or the
    path of a shop's own material file.
    """
    from loadsim.materials import describe
    from loadsim.report.terminal.materials import material_text, materials_text

    if html is not None:
        from loadsim.report import material_html

        material_html.write_page(name, html, units, force)
        say(f"Wrote {html}.")
    data = describe.listing() if name is None else describe.describe(name)
    if as_json:
        out(_json(data))
    elif name is None:
        out(materials_text(data["work"], data["blank"]))
    elif html is None:
        out(material_text(data, describe.truth_of(name, units), units))


def _named(path: str, run: Callable[[], R]) -> R:
    """Run, and give problems that are found after reading the job file that file's name."""
    try:
        return run()
    except InputError as error:
        raise InputError(
            path if error.file == "job" else error.file, list(error.problems)
        ) from None


def _from_shop(job: Job, as_json: bool) -> list[str]:
    """Say what came from the shop file; the warnings of JSON carry it."""
    if job.shop is None or as_json:
        return []
    from loadsim.job.shop import told

    return [f"From the shop file {job.shop.file}: {told(job.shop)}."]


def _status(verdict: str) -> int:
    """Exit status of an answer: the same for every command."""
    return 1 if verdict == "no-go" else 0


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, indent=1, allow_nan=False)


def main() -> None:
    """Run the command line; every error is one line a problem on standard error, no traceback."""
    for name in ("stdout", "stderr"):  # closed by the caller
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w"))
    replace_unknown()
    try:
        cli(standalone_mode=False)
    except InputError as error:
        say(*error.lines())
    except (click.exceptions.Abort, KeyboardInterrupt):
        # stopped inside such a call, as imports make, python -m would end by the signal, whatever
        # is said here
        exec("")
        say("Stopped; nothing was written.")
    except click.ClickException as error:
        shown = io.StringIO()
        error.show(shown)
        say(shown.getvalue().rstrip("\n"))
    except (LoadsimError, ValueError, ArithmeticError, OSError) as error:
        say(f"loadsim: cannot answer: {printable(str(error))}")
    except Exception as error:  # a defect of ours must not look like a no-go
        say(
            f"loadsim: a defect in the program, no answer: {type(error).__name__}:"
            f" {printable(str(error))}"
        )
    else:
        return
    sys.exit(2)
