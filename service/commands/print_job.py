"""`tailproof print-check`: measure the printed sheet once, keep the result, and have every check use it."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Mapping
from datetime import date

import numpy as np

from calibration.prints.check import CALIPER, LENGTHS, NOMINAL_MM, RULE, Instrument, rule
from calibration.prints.record import PrintRecord, measured_print
from calibration.prints.shape import Floats, PrintShape
from service.errors import UsageError
from service.kept.data_folder import data_folder
from service.kept.print_store import DEFAULT, NO_PRINT, PrintStore
from service.lengths import length_mm
from service.status import Status


def run_print_check(options: argparse.Namespace) -> int:
    """Keep, list or forget prints, as the command line asks. Raises UsageError."""
    store = PrintStore(data_folder(options.data, os.environ))
    if options.list:
        print(_listed(store))
    elif options.forget is not None:
        _forget(store, options.forget)
    else:
        _keep(store, options)
    return Status.MEASURED


def record_text(record: PrintRecord) -> str:
    """A kept print in two lines."""
    shape, u = record.shape, np.sqrt(np.diag(record.shape.covariance))
    scales = (f"{axis} {100.0 * scale:.2f} ± {200.0 * part:.2f} %" for axis, scale, part in _axes(shape, u))
    skew = f"skew {np.degrees(shape.skew_rad):.2f} ± {np.degrees(2.0 * u[2]):.2f}°"
    note = f", {record.note}" if record.note else ""
    return f"{record.name} ({record.measured.isoformat()}, {record.instrument}{note}):\n  {', '.join(scales)}, {skew}"


def _axes(shape: PrintShape, u: Floats) -> tuple[tuple[str, float, float], ...]:
    return ("length", shape.x_scale, float(u[0])), ("height", shape.y_scale, float(u[1]))


def instrument_named(name: str) -> Instrument:
    """`rule`, `caliper`, or a rule read to so many mm. Raises UsageError for anything else."""
    known = {"rule": RULE, "caliper": CALIPER}
    try:
        return known[name] if name in known else rule(length_mm(name))
    except ValueError as error:
        raise UsageError(f"--with takes rule, caliper, or what a rule is read to, such as 0.2: {error}.") from error


def _keep(store: PrintStore, options: argparse.Namespace) -> None:
    if options.print == NO_PRINT:
        raise UsageError(f"--print: {NO_PRINT!r} means no print; choose another name.")
    store.list()
    instrument = instrument_named(options.instrument)
    readings = _given(options) or _asked(instrument)
    try:
        record = measured_print(options.print, readings, instrument, on=date.today(), note=options.note)
    except ValueError as error:
        raise UsageError(f"{error}.") from error
    store.put(record)
    use = "unless told otherwise" if record.name == DEFAULT else f"with --print {record.name}"
    print(f"{record_text(record)}\nKept in {store.path}; `tailproof check` uses it {use}.")


def _given(options: argparse.Namespace) -> Mapping[str, list[float]]:
    """The readings of the command line; empty when there are none."""
    given = {length: getattr(options, length.lower()) for length in LENGTHS}
    return {length: readings for length, readings in given.items() if readings}


def _asked(instrument: Instrument) -> Mapping[str, list[float]]:
    """The readings, asked for one by one. Raises UsageError when there is nobody to ask."""
    if not sys.stdin.isatty():
        raise UsageError("give all four lengths, in mm: --ab, --ad, --ac and --bd.")
    print(f"Measure between the centres of the crosses ({instrument.name}), in mm or, as 3.94in, in inches.")
    return {length: [_ask(length)] for length in LENGTHS}


def _ask(length: str) -> float:
    while True:
        try:
            return length_mm(input(f"{length} (true to size: {NOMINAL_MM[length]:.1f} mm): "))
        except ValueError as error:
            print(f"{error}.")
        except EOFError:
            raise UsageError("stopped before all four lengths were given; nothing was kept.") from None


def _listed(store: PrintStore) -> str:
    records = store.list()
    return "\n".join(map(record_text, records)) if records else f"No print is kept in {store.folder}."


def _forget(store: PrintStore, name: str) -> None:
    if not store.forget(name):
        raise UsageError(f"--forget: no print is kept as {name!r}.")
    print(f"The print {name} is forgotten.")
