"""`rounds keys FARM`: whose each key is; another laptop is introduced, a lost one revoked."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.errors import Refused

if TYPE_CHECKING:
    from rounds.trust.owning import KnownKey

WHAT = """\
against mistakes and against malice:
  --as NAME is a habit: it keeps a helper within the limits, and stops nobody who would rather not be kept.
  The signature is a lock: what comes in by `rounds merge` can neither speak for the grower nor take back what is the
  grower's, unless a key of the grower's stands for it. A helper's bundle carries a key of its own, for its days, to
  add to the record in one name. Whoever has the bundle can sign in that name: hand it over as you would a door key.
  The farm's folder belongs to who can read the disk. Whoever can write there can change anything, and say --mine.

a key's life:
  This laptop's key is made when it first closes a round, makes a backup or hands over. It lies in your own folder
  for such things, never in the farm's. The first key on a farm is the grower's.
  a second laptop     merge what it wrote, compare the code on both screens, then --introduce CODE here.
  a laptop lost       on another one: --revoke CODE. What it signed and is here stays; nothing more comes in under it.
  a copied folder, or one from a backup   on this laptop the key is the same. On a new one: --mine.
  locked out          --mine says that this laptop's key is the grower's, by the right of having the folder. It
                      counts in this folder and its copies; another laptop introduces it, or says the same there.
  what is unsigned    is treated as a helper's: it may add. What was written before the farm had keys may name you.
"""
_KEYS = """
format    1
farm      name of the farm
ids       its ids: several where it was said that they are the same
keys      every key that was heard of
  code     its short name, the same on every laptop
  key      all of it
  rank     grower, helper, revoked or unknown
  name     whose it is, as far as that was said
  here     whether this laptop signs with it in this folder
  days     first and last day of a helper's; else null
  records  how many records it stands for
said      what was said by this call, or empty
"""
_WHOSE = {"grower": "the grower's", "helper": "a helper's", "revoked": "revoked", "unknown": "not introduced"}


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("keys", help="whose each key is, and who may say what", epilog=WHAT)
    add_farm(parser)
    add_person(parser)
    one = parser.add_mutually_exclusive_group()
    one.add_argument("--introduce", metavar="KEY", help="another key of yours: its code, or what it has signed")
    one.add_argument("--revoke", metavar="CODE", help="a key that is lost or over")
    one.add_argument("--mine", action="store_true", help="say that this laptop's key is the grower's")
    parser.add_argument("--name", default="", metavar="TEXT", help="what to call the key that is introduced")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Say what there is to say, then show every key."""
    from rounds.trust.owning import known_keys

    says = args.mine or args.introduce or args.revoke
    session = open_session(args, read_only=not says)
    with session.history as history:
        if says and session.is_helper:
            raise in_words(Refused, "growers-keys")
        said = _said(args, session) if says else ""
        keys, ids = known_keys(history), sorted(history.farm_ids())
    if args.json:
        print_json({"farm": session.farm.name, "ids": ids, "keys": [_form(each) for each in keys], "said": said})
        return 0
    print("\n".join(filter(None, (said, f"{session.farm.name}: {', '.join(ids) or 'no id yet'}."))))
    print("\n".join(map(_line, keys)) or "No key has signed here yet: the first round that is closed makes one.")
    return 0


def _said(args: argparse.Namespace, session: Any) -> str:
    from rounds.trust.owning import introduce, revoke, say_mine

    history, now = session.history, session.now()
    if args.mine:
        return f"{say_mine(history, now)} is the grower's now, in this folder."
    if args.introduce:
        return f"{introduce(history, args.introduce, args.name, now)} is introduced as the grower's."
    return f"{revoke(history, args.revoke, now)} is revoked: nothing more comes in under it."


def _form(each: KnownKey) -> dict[str, Any]:
    return {
        "code": each.code,
        "key": each.key,
        "rank": each.rank,
        "name": each.name,
        "here": each.here,
        "days": list(each.days) if each.days is not None else None,
        "records": each.records,
    }


def _line(each: KnownKey) -> str:
    name = f" ({each.name})" if each.name else ""
    days = f", {each.days[0]} to {each.days[1]}" if each.days is not None else ""
    here = ", this laptop's" if each.here else ""
    return f"{each.code}  {_WHOSE[each.rank]}{name}{days}{here}: stands for {each.records} records"
