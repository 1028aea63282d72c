"""The rules of a layout review: the class's own in the data folder, a file that is named, or the default ones."""

from __future__ import annotations

from pathlib import Path

from service.errors import UsageError
from service.kept.kept_file import read_kept, write_kept
from vision.layout.rules import DEFAULT_RULES, Rule, rules_from_dict, rules_to_dict

FILE_NAME = "rules.json"


def rules_path(folder: Path) -> Path:
    """Where the class's own rules are kept."""
    return folder / FILE_NAME


def rules_in_use(given: Path | None, folder: Path) -> tuple[Rule, ...]:
    """The rules of the file `given`, else the kept ones, else the default ones. Raises UsageError, saying why."""
    if given is not None:
        return rules_in_file(given)
    return read_kept(rules_path(folder), rules_from_dict) or DEFAULT_RULES


def rules_in_file(path: Path) -> tuple[Rule, ...]:
    """The rules in a file. Raises UsageError, saying what is wrong, when there are none."""
    rules = read_kept(path, rules_from_dict)
    if rules is None:
        raise UsageError(f"there is no file {path}. `tailproof rules` prints the rules to begin with.")
    return rules


def keep_rules(rules: tuple[Rule, ...], folder: Path) -> None:
    """Keep rules for every later check. Raises UsageError when they cannot be written."""
    write_kept(rules_path(folder), rules_to_dict(rules))


def drop_rules(folder: Path) -> bool:
    """Go back to the default rules; whether there were others. Raises UsageError when the file cannot be removed."""
    try:
        rules_path(folder).unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UsageError(f"{rules_path(folder)} could not be removed ({error.strerror or error}).") from error
    return True
