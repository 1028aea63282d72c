"""The `tailproof` command: what it accepts, and which job it hands over to.

Jobs are imported when they are asked for: a person who wants a card does not wait for the photo libraries.
"""

from __future__ import annotations

import argparse
import importlib
import logging
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

from service.answers.terminal import drop_output, settle_streams, write_or_drop_output
from service.commands.drill_options import add_drill_arguments
from service.commands.plan_options import add_layout_arguments, add_plan_arguments, add_rules_arguments
from service.commands.serve_options import add_demo_arguments, add_serve_arguments
from service.errors import UsageError, complain, report_fault
from service.garbage import settle_garbage
from service.option_types import add_list_and_forget, budget_subject, kept_name, length, note, socket_depth
from service.status import SIGNAL_BASE, Status
from service.threads import settle_threads


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line `argv` (the process's own if None) and return the exit status.

    Never raises but to exit: argparse does, with `Status.USAGE`, on a mistake in the command line.
    """
    settle_streams()
    settle_threads()
    settle_garbage()
    logging.basicConfig(format="%(message)s")
    try:
        try:
            return _carried_out(argv)
        finally:
            sys.stdout.flush()
    except UsageError as error:
        return complain(str(error), Status.USAGE)
    except KeyboardInterrupt:
        return complain("stopped.", SIGNAL_BASE + 2)
    except BrokenPipeError:
        drop_output()
        return SIGNAL_BASE + 13
    except Exception as error:
        status = report_fault(error)
        write_or_drop_output()
        return status


def _carried_out(argv: Sequence[str] | None) -> int:
    """The status of the job that was asked for."""
    options = _options(build_parser(), argv)
    logging.getLogger("tailproof").setLevel(logging.DEBUG if options.debug else logging.CRITICAL)
    return int(options.run(options))


def _options(parser: argparse.ArgumentParser, argv: Sequence[str] | None) -> argparse.Namespace:
    """The options of a command line; photos may stand on either side of them (argparse takes the first ones alone)."""
    options, rest = parser.parse_known_args(argv)
    if rest and (not hasattr(options, "photos") or any(word.startswith("-") for word in rest)):
        parser.error(f"unrecognized arguments: {' '.join(rest)} (see `tailproof {options.job} --help`)")
    if rest:
        options.photos.extend(Path(word) for word in rest)
    return options


def build_parser() -> argparse.ArgumentParser:
    """The whole command line."""
    parser = argparse.ArgumentParser(
        prog="tailproof",
        description="Checks the saw cuts of a dovetailed tail board from one photo beside a printed card.",
        epilog="Exit status: 0 all measured, 3 at least one photo refused, 2 a mistake in the command, 1 a fault.",
    )
    parser.add_argument("--version", action=_Version, help="print the version and stop")
    jobs = parser.add_subparsers(dest="job", metavar="JOB", required=True)
    _add_check(jobs)
    _add_drill(jobs)
    _add_card(jobs)
    _add_print_check(jobs)
    _add_camera(jobs)
    _add_score(jobs)
    _add_repeat(jobs)
    _add_board(jobs)
    _add_plan(jobs)
    _add_rules(jobs)
    _add_serve(jobs)
    _add_demo(jobs)
    return parser


class _Version(argparse.Action):
    """Prints the installed version; the package data is only read when asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str | None = None) -> None:
        super().__init__(option_strings, dest=argparse.SUPPRESS, nargs=0, help=help)

    def __call__(self, parser: argparse.ArgumentParser, *unused: object) -> None:
        from service.version import version

        print(f"tailproof {version()}", flush=True)
        parser.exit(Status.MEASURED)


def _job(jobs: Any, name: str, summary: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = jobs.add_parser(name, help=summary.replace("%", "%%"), description=summary)
    parser.add_argument("--debug", action="store_true", help="show where a fault of the program happened")
    parser.set_defaults(run=partial(_run, name))
    return parser


def _run(name: str, options: argparse.Namespace) -> int:
    """The job of that name; the first photo of a check is read while its modules are loaded."""
    if name != "check":
        return _run_module(name, options)
    from service.measuring.reading import read_meanwhile

    with read_meanwhile(options.photos[0]):
        return _run_module(name, options)


def _run_module(name: str, options: argparse.Namespace) -> int:
    """`run_NAME` in the module of the job's first word."""
    module = importlib.import_module(f"service.commands.{name.partition('-')[0]}_job")
    status: int = getattr(module, f"run_{name.replace('-', '_')}")(options)
    return status


def _add_check(jobs: Any) -> None:
    parser = _job(jobs, "check", "Measure the end of a tail board and say what the pins will do.")
    parser.add_argument("photos", nargs="+", type=Path, metavar="PHOTO", help="photo of the end beside the card")
    parser.add_argument("--json", action="store_true", help="print the result as JSON, one line for each photo")
    parser.add_argument(
        "--overlay",
        metavar="FILE",
        help="draw the result on the photo: a .png or .jpg file; for several photos a folder, or a name with {name}",
    )
    parser.add_argument("--units", choices=("mm", "inch"), default="mm", help="units for people (default: mm)")
    parser.add_argument("--explain", action="store_true", help="add where the uncertainty comes from, and assumptions")
    parser.add_argument("--same-end", action="store_true", help="the photos show one end: combine them to one result")
    parser.add_argument(
        "--budget",
        nargs="?",
        const="",
        type=budget_subject,
        metavar="WHAT",
        help='where U comes from and what would make it smaller: of "tail 2 right", "socket 3", width or thickness;'
        " without WHAT of what decides the advice (write it after the photos)",
    )
    parser.add_argument("--view", choices=("show", "transfer"), help="the photos show this face, not the end")
    parser.add_argument(
        "--past-limit", type=length, metavar="MM", help="with --view: how far past the baseline (default: 0.30)"
    )
    parser.add_argument("--stage", choices=("sawn", "cleared"), help="is the waste still in? (default: told by itself)")
    _add_photo_options(parser)
    _add_kept(parser)
    _add_sizes(parser)
    _add_limits(parser)
    add_layout_arguments(parser)


def _add_drill(jobs: Any) -> None:
    parser = _job(jobs, "drill", "Measure practice cuts in a scrap's end, and say what to work on.")
    add_drill_arguments(parser)
    _add_card_side(parser)
    _add_kept(parser)
    _add_sizes(parser)


def _add_photo_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--species", metavar="NAME", help="the wood, such as cherry or pine")
    _add_card_side(parser)


def _add_card_side(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--card-side",
        choices=("show", "transfer"),
        default="show",
        help="the face that the card lies along (default: show)",
    )


def _add_kept(parser: argparse.ArgumentParser) -> None:
    """Options on what was measured beforehand."""
    parser.add_argument(
        "--print", metavar="NAME", help="the kept print that was photographed (default: `default` if kept; none: none)"
    )
    parser.add_argument(
        "--camera", metavar="NAME", help="the camera profile to use (default: the one that fits; none: none)"
    )
    _add_data(parser)


def _add_data(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--data", type=Path, metavar="FOLDER", help="keep data in this folder (or TAILPROOF_DATA)")


def _add_sizes(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument_group("the board at this end, measured with a caliper, in mm or as 2.93in").add_argument
    add("--thickness", type=length, metavar="MM", help="thickness, to correct for a card above or below the end")
    add("--width", type=length, metavar="MM", help="width, to the same end and better at it")


def _add_limits(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument_group("limits of your class, in mm or as 0.004in").add_argument
    add("--gap-limit", type=length, metavar="MM", help="widest gap to accept (default: 0.10)")
    add("--squeeze-limit", type=length, metavar="MM", help="most squeeze to accept (default: by the wood)")
    add("--allow-paring", action="store_true", help="tight walls may be pared")
    add("--baseline-depth", type=socket_depth, metavar="MM", help="depth of the sockets (default: the thickness)")


def _add_card(jobs: Any) -> None:
    parser = _job(jobs, "card", "Write the card to print at 100 % and lay beside the end.")
    parser.add_argument("--kind", choices=("short", "long"), default="short", help="boards to 115 or to 230 mm wide")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="paper size (default: a4)")
    parser.add_argument("--format", choices=("pdf", "png", "svg"), help="kind of file (default: by its name, else pdf)")
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="file to write")


def _add_print_check(jobs: Any) -> None:
    parser = _job(jobs, "print-check", "Measure the printed sheet once: every check with it is corrected from then on.")
    for name in ("ab", "ad", "ac", "bd"):
        what = "bar" if name in ("ab", "ad") else "diagonal"
        parser.add_argument(
            f"--{name}",
            action="append",
            type=length,
            metavar="LENGTH",
            help=f"{what} {name.upper()}, in mm or as 3.94in; give it again for each repeated reading",
        )
    parser.add_argument(
        "--with",
        dest="instrument",
        default="rule",
        metavar="WHAT",
        help="rule (read to 0.5 mm), caliper, or what the rule was read to, such as 0.2 (default: rule)",
    )
    parser.add_argument(
        "--print", type=kept_name, default="default", metavar="NAME", help="name to keep it under (default: default)"
    )
    parser.add_argument("--note", type=note, default="", metavar="TEXT", help="which card, paper or printer it was")
    add_list_and_forget(parser, "print")
    _add_data(parser)


def _add_camera(jobs: Any) -> None:
    parser = _job(jobs, "camera", "Learn a phone's lens from photos of the card: later checks are more certain.")
    parser.add_argument(
        "photos", nargs="*", type=Path, metavar="PHOTO", help="6 to 20 photos of the flat card from different sides"
    )
    parser.add_argument(
        "--name", type=kept_name, metavar="NAME", help="name to keep the profile under (default: by phone and lens)"
    )
    parser.add_argument(
        "--print", type=kept_name, metavar="NAME", help="keep the card's shape too, as a print of that name"
    )
    add_list_and_forget(parser, "profile")
    parser.add_argument("--json", action="store_true", help="print what came of the photos as JSON")
    _add_data(parser)


def _add_score(jobs: Any) -> None:
    parser = _job(jobs, "score", "Check every photo that has a truth file, and say how well it was measured.")
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="photos with their truths, NAME.json")
    parser.add_argument("--json", action="store_true", help="print the score as JSON")
    _add_photo_options(parser)
    _add_kept(parser)
    not_asked = ("stage", "width", "thickness", "baseline_depth", "gap_limit", "squeeze_limit")
    parser.set_defaults(**dict.fromkeys(not_asked), allow_paring=False)


def _add_repeat(jobs: Any) -> None:
    parser = _job(jobs, "repeat", "Study whether the measurement repeats: several boards, photographers and photos.")
    parser.add_argument(
        "folder", nargs="?", type=Path, metavar="FOLDER", help="FOLDER/BOARD/PERSON/photos, or FOLDER/BOARD/photos"
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="a table of measured values in place of the folder")
    parser.add_argument("--save-csv", type=Path, metavar="FILE", help="write the measured values as such a table")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw the values: a .png, .svg or .pdf file")
    parser.add_argument("--json", action="store_true", help="print the study as JSON")
    parser.add_argument("--explain", action="store_true", help="add the analysis of variance")
    parser.add_argument("--stage", choices=("sawn", "cleared"), help="is the waste still in? (default: told by itself)")
    _add_photo_options(parser)
    _add_kept(parser)
    _add_limits(parser)
    parser.set_defaults(width=None, thickness=None)


def _add_board(jobs: Any) -> None:
    parser = _job(jobs, "board", "Check end and faces of a tail board together: the walls in depth.")
    add = parser.add_argument
    add("--end", type=Path, required=True, metavar="PHOTO", help="photo of the end beside the card")
    add("--show", type=Path, metavar="PHOTO", help="photo of the show face with the card on it")
    add("--transfer", type=Path, metavar="PHOTO", help="photo of the transfer face; one of the two may be missing")
    add("--json", action="store_true", help="print the result as JSON")
    add("--overlay", metavar="FILE", help="draw the result on all photos, below one another: a .png or .jpg file")
    add("--sketch", type=Path, metavar="FILE", help="draw the pins by depth: a .pdf, .png or .svg file")
    add("--units", choices=("mm", "inch"), default="mm", help="units for people (default: mm)")
    add("--explain", action="store_true", help="add what is taken for granted")
    add("--stage", choices=("sawn", "cleared"), help="is the waste still in? (default: told by itself)")
    _add_photo_options(parser)
    _add_kept(parser)
    _add_sizes(parser)
    _add_limits(parser)
    add_layout_arguments(parser)


def _add_plan(jobs: Any) -> None:
    parser = _job(jobs, "plan", "Lay out a joint: every line's place, the dividers' step, a drawing at full size.")
    add_plan_arguments(parser)
    _add_data(parser)


def _add_rules(jobs: Any) -> None:
    parser = _job(jobs, "rules", "Print the trade's opinions that `check --layout` goes by, or keep your own.")
    add_rules_arguments(parser)
    _add_data(parser)


def _add_serve(jobs: Any) -> None:
    parser = _job(jobs, "serve", "Serve pages for phone and computer: check boards, keep the practice log.")
    add_serve_arguments(parser)
    _add_data(parser)


def _add_demo(jobs: Any) -> None:
    parser = _job(jobs, "demo", "Look around in an invented school with two months of boards: a class served at once.")
    add_demo_arguments(parser)
