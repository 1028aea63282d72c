"""The filters of the pages of the log that look back, as they stand in their addresses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.domain.log import Wanted
from service.practice.cuts import CUTS_METRICS
from service.practice.series import ABS_LEAN, METRICS, Metric
from service.web.forms import LogForm, filters

WINDOWS = (30, 100, 300, 1000)
"""So many of the latest boards are looked back on; a chart of more could not be read."""
USUAL_WINDOW = 100


@dataclass(frozen=True)
class LookBackForm:
    """Wood, saw and days; what makes no sense narrows nothing."""

    species: str = ""
    saw: str = ""
    since: str = ""
    until: str = ""

    def wanted(self, person: str) -> Wanted:
        """The boards asked for."""
        return LogForm(species=self.species, saw=self.saw, since=self.since, until=self.until).wanted(person)

    @property
    def narrowed(self) -> bool:
        """Whether any filter stands."""
        return any((self.species, self.saw, self.since, self.until))

    @property
    def query(self) -> str:
        """The filters for another page's address; empty without any."""
        return filters(species=self.species, saw=self.saw, since=self.since, until=self.until)


@dataclass(frozen=True)
class TrendsForm(LookBackForm):
    """And how many boards, and which number is charted."""

    boards: str = str(USUAL_WINDOW)
    metric: str = ABS_LEAN.name

    @property
    def window(self) -> int:
        """How many of the latest boards."""
        return next((window for window in WINDOWS if str(window) == self.boards), USUAL_WINDOW)

    @property
    def charted(self) -> Metric:
        """The number that is charted."""
        return {**METRICS, **CUTS_METRICS}.get(self.metric, ABS_LEAN)

    def address(self, metric: str) -> str:
        """The same page with the charts of another number."""
        return f"/trends?{filters(boards=str(self.window), metric=metric)}{self.query and '&' + self.query}#charts"


@dataclass(frozen=True)
class Month:
    """A month of the calendar."""

    year: int
    month: int

    @classmethod
    def of(cls, typed: str, today: date) -> Month:
        """From `2026-03`; what makes no sense is the month of today."""
        try:
            first = date.fromisoformat(f"{typed}-01")
        except ValueError:
            first = today
        return cls(first.year, first.month) if first.year < date.max.year else cls(today.year, today.month)

    @property
    def first(self) -> date:
        """Its first day."""
        return date(self.year, self.month, 1)

    @property
    def after(self) -> Month:
        """The next one."""
        return Month(self.year + self.month // 12, self.month % 12 + 1)

    @property
    def before(self) -> Month:
        """The one before; there is none before the first of all."""
        if self.first == date.min:
            return self
        return Month(self.year - (self.month == 1), (self.month - 2) % 12 + 1)

    @property
    def key(self) -> str:
        """As it stands in an address."""
        return f"{self.year:04d}-{self.month:02d}"
