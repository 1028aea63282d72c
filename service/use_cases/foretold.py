"""What was foretold of driven joints: by the answer that stood when it was first said how they fitted.

Where that is not kept any more, by what the program alone makes of a photo of then. What a person corrected or
photographed once the outcome was known would prove itself right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from service.domain.check import Answer, Check
from service.domain.correction import Correction
from service.domain.fit import Fit
from service.domain.log_numbers import Logged, packed_sockets
from service.use_cases.ports import UnitOfWork


def with_fits_of(uow: UnitOfWork, log: Sequence[Logged]) -> Mapping[Logged, Sequence[Fit]]:
    """Boards with what was said of how they fitted."""
    fits = uow.fits.of_boards([logged.identity for logged in log])
    return {logged: fits.get(logged.identity, ()) for logged in log}


def as_foretold(uow: UnitOfWork, log: Sequence[Logged]) -> Mapping[Logged, Sequence[Fit]]:
    """Driven boards with what was said of their fit, each with the sockets as they were foretold.

    A board whose answer of then is not kept, nor another one that rests on what there was then, is left out.
    """
    told = {logged: fits for logged, fits in with_fits_of(uow, log).items() if fits}
    answered = uow.log_numbers.answered_at([logged.identity for logged in told])
    first = {logged: min(fit.noted_at for fit in fits) for logged, fits in told.items()}
    late = [each for each in told if each.identity in answered and answered[each.identity] > first[each]]
    then = _then(uow, {logged: first[logged] for logged in late})
    found = {logged: then.get(logged) if logged in then else logged for logged in told}
    return {as_it_was: told[logged] for logged, as_it_was in found.items() if as_it_was is not None}


def _then(uow: UnitOfWork, driven: Mapping[Logged, datetime]) -> dict[Logged, Logged | None]:
    """Boards as they were answered at their moments; None where that is not kept."""
    checks = uow.checks.of_boards([logged.identity for logged in driven])
    corrections = uow.corrections.of_checks([check.id for check in checks])
    return {logged: _as_it_was(logged, moment, checks, corrections) for logged, moment in driven.items()}


def _as_it_was(
    logged: Logged, moment: datetime, checks: Iterable[Check], corrections: Sequence[Correction]
) -> Logged | None:
    """By the newest end that had its answer."""
    ends = [check for check in checks if check.board == logged.identity and check.view == "end"]
    answers = [answer for check in ends if (answer := _answer_at(moment, check, corrections))]
    try:
        return replace(logged, sockets=packed_sockets(answers[-1])) if answers else None
    except (KeyError, TypeError, ValueError):  # of an older version, or brought by an import
        return None


def _answer_at(moment: datetime, check: Check, corrections: Iterable[Correction]) -> Answer | None:
    """The answer that a photo had then, if it is kept; or what the program by itself has made of that photo since.

    By other limits or another wood it may foretell something else, but knows as little of the outcome; a person who
    corrects walls may know it.
    """
    if check.answer and _measured(check.answer) and _answered_by(check.answer, moment):
        return check.answer
    untouched = all(each.made_at > moment for each in corrections if each.check == check.id)
    own = check.original if check.corrected else check.answer
    return own if own and untouched and check.sent_at <= moment and _measured(own) else None


def _measured(answer: Answer) -> bool:
    return bool(answer.result.get("ok"))


def _answered_by(answer: Answer, moment: datetime) -> bool:
    return answer.answered_at is not None and answer.answered_at <= moment
