"""`tailproof rules`: print the rules of the layout review, keep a teacher's own, or go back to the default ones."""

from __future__ import annotations

import argparse
import json
import os
from pathlib import Path

from service.errors import UsageError
from service.kept.data_folder import data_folder
from service.kept.rules_store import drop_rules, keep_rules, rules_in_file, rules_in_use, rules_path
from service.output import check_output, write_file
from service.status import Status
from vision.layout.rules import DEFAULT_RULES, Rule, rules_to_dict


def run_rules(options: argparse.Namespace) -> int:
    """Print, keep or reset the rules, as the command line asks. Raises UsageError."""
    folder = data_folder(options.data, os.environ)
    if options.keep is not None:
        keep_rules(rules_in_file(options.keep), folder)
        print(f"Kept in {rules_path(folder)}; `tailproof check --layout` uses them from now on.")
    elif options.reset:
        print("Back to the default rules." if drop_rules(folder) else "The default rules were in use already.")
    else:
        _show(DEFAULT_RULES if options.default else rules_in_use(None, folder), options.output)
    return Status.MEASURED


def _show(rules: tuple[Rule, ...], path: Path | None) -> None:
    """Print the rules, or write them into a new file: a teacher's own is never written over."""
    text = json.dumps(rules_to_dict(rules), indent=2, ensure_ascii=False)
    if path is None:
        print(text)
        return
    if path.exists():
        raise UsageError(f"{path} exists already and has been left as it is. Name another file to write to.")
    check_output(path)
    write_file(path, f"{text}\n".encode())
    print(f"Wrote {path}. Edit it, then use it once with check --rules {path}, or for good with rules --keep {path}.")
