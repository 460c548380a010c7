"""The keys of a verb's JSON, as its own --help tells them."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Mapping

_NOTE = "A key in [brackets] is not always there. A list may be empty."


def tell_keys(parser: argparse.ArgumentParser, answers: Mapping[str, str]) -> None:
    """Say at the end of a verb's help which keys its JSON has.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Of the verb.
    answers : mapping of str to str
        By the options that ask for the answer, such as "--json --plan": its keys, one a line or several with commas,
        a few words two spaces behind them; the keys of what lies within stand below it, further in.
    """
    told = [f"the answer with {asked}:\n{textwrap.indent(keys.strip(), '  ')}" for asked, keys in answers.items()]
    parser.epilog = "\n\n".join([*filter(None, [parser.epilog]), *told, _NOTE])
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
