"""`tailproof repeat`: does the measurement stay the same, photo after photo and whoever takes it?"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from service.answers.repeat_text import study_text
from service.commands.check_job import settings_from
from service.errors import UsageError
from service.measuring.repeat_folder import find_shots
from service.measuring.repeat_measure import LeftOut, Measured, measure_shots
from service.measuring.repeat_result import RepeatResult, study_values
from service.measuring.repeat_values import Value, from_csv, to_csv
from service.output import check_output, same_file, write_file
from service.status import Status
from vision.joint.seating import Limits
from vision.joint.species import find_species, worst_of_all


def run_repeat(options: argparse.Namespace) -> int:
    """Study the folder or the table of the command line and return the exit status. Raises UsageError."""
    _check_request(options)
    measured = _measured(options)
    result = _study(measured, settings_from(options).limits, options.species)
    if options.save_csv is not None:
        write_file(options.save_csv, to_csv(measured.values).encode("utf-8"))
    if options.plot is not None:
        _plot(result, options.plot)
    _print(result, measured.left_out, options)
    return _status(measured)


def _check_request(options: argparse.Namespace) -> None:
    """Everything that can be told before a minute of measuring."""
    if (options.folder is None) == (options.csv is None):
        raise UsageError("name either the folder of the study's photos or, with --csv, a table of measured values.")
    if options.save_csv is not None:
        check_output(options.save_csv)
        if options.csv is not None and same_file(options.save_csv, options.csv):
            raise UsageError(f"--save-csv would write over {options.csv}, the table it reads. Name another file.")
    if options.plot is not None:
        from service.answers.repeat_plot import check_plot

        check_plot(options.plot)


def _measured(options: argparse.Namespace) -> Measured:
    if options.csv is None:
        return measure_shots(find_shots(options.folder), settings_from(options))
    return Measured(tuple(_read_table(options.csv)))


def _read_table(path: Path) -> list[Value]:
    try:
        return from_csv(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{path} could not be read ({error.strerror or error}).") from error
    except UnicodeDecodeError as error:
        raise UsageError(f"{path} is not a text table. Save it as CSV in UTF-8.") from error
    except ValueError as error:
        raise UsageError(f"{path}: {error}.") from error


def _study(measured: Measured, limits: Limits, species: str | None) -> RepeatResult:
    """The study. Raises UsageError, with what was left out, when no quantity can carry one."""
    wood = find_species(species) if species else worst_of_all()
    result = study_values(measured.values, limits, wood.group)
    if not result.studied:
        reasons = dict.fromkeys(result.not_studied.values()) or ["no photo could be used"]
        left_out = "".join(f"\n  {each.photo}: {each.why}" for each in measured.left_out)
        raise UsageError(f"these photos carry no study: {'; '.join(reasons)}.{left_out}")
    return result


def _plot(result: RepeatResult, path: Path) -> None:
    from service.answers.repeat_plot import draw_study

    write_file(path, draw_study(result, path))


def _print(result: RepeatResult, left_out: tuple[LeftOut, ...], options: argparse.Namespace) -> None:
    if options.json:
        named = [{"photo": each.photo, "why": each.why} for each in left_out]
        print(json.dumps(result.to_dict() | {"left_out": named}))
    else:
        print(study_text(result, [(each.photo, each.why) for each in left_out], explain=options.explain))


def _status(measured: Measured) -> Status:
    if measured.faults:
        return Status.FAULT
    return Status.REFUSED if measured.left_out else Status.MEASURED
